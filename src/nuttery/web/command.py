"""nuttery serve: the planting in a browser."""

from datetime import date
from typing import Annotated

from cyclopts import Parameter


def serve(
    *,
    planting: Annotated[
        str,
        Parameter(env_var="NUTTERY_PLANTING", help="The planting's file, or a database address."),
    ] = "planting.db",
    on: Annotated[date | None, Parameter(help="Answer as of this day (today).")] = None,
    port: Annotated[int, Parameter(help="Port to listen on.")] = 8790,
) -> int:
    """Serve the planting to a browser on this computer."""
    import uvicorn

    from nuttery.web.app import build

    app = build(planting, on=on)
    print(f"Open http://localhost:{port}/  (stop with Ctrl-C)", flush=True)
    uvicorn.run(app, host="127.0.0.1", port=port, log_level="warning")
    return 0
