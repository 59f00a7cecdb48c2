"""What all tests share: where nothing may be skipped, a skipped test fails the run."""

import os


def pytest_sessionfinish(session, exitstatus):
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    strict = os.environ.get("NUTTERY_SKIP_NOTHING") == "1"
    if strict and reporter is not None and exitstatus == 0 and reporter.stats.get("skipped"):
        for report in reporter.stats["skipped"]:
            reporter.write_line(f"skipped where nothing may be: {report.nodeid}", red=True)
        session.exitstatus = 1
