"""Reading weather files against a plain loop over the same bytes, in the same run.

The loops only cut lines and make numbers: no checks, no dates, no gaps, no account of what was
read. Run with `python benchmarks/bench_weather_files.py`.
"""

import csv
import tempfile
import time
from pathlib import Path

import numpy as np

from nuttery.exchange import read_weather

YEARS_DAILY, YEARS_HOURLY = 100, 10
REST = "10132   270    21     4     0 -9999"
HOURS = YEARS_HOURLY * 8766


def best_of(run, file, times=3):
    seconds = []
    for _ in range(times):
        start = time.perf_counter()
        run(file)
        seconds.append(time.perf_counter() - start)
    return min(seconds)


def write_dly(file, rng):
    lines = []
    for month in np.arange("1920-01", f"{1920 + YEARS_DAILY}-01", dtype="datetime64[M]"):
        days = int(
            ((month + 1).astype("datetime64[D]") - month.astype("datetime64[D]")).astype(int)
        )
        low = rng.integers(-300, 200, days)
        values = {"TMIN": low, "TMAX": low + rng.integers(0, 150, days), "PRCP": low * 0 + 12}
        head = f"USC00470001{str(month)[:4]}{str(month)[5:]}"
        for element, row in values.items():
            cells = [f"{v:5d}  7" for v in row] + ["-9999   "] * (31 - days)
            lines.append(head + element + "".join(cells))
    file.write_text("\n".join(lines) + "\n", encoding="ascii")


def loop_dly(file):
    out = {}
    for line in file.read_text(encoding="ascii").splitlines():
        row = [int(line[21 + 8 * d : 26 + 8 * d]) / 10 for d in range(31)]
        out[line[11:21]] = row
    return out


def write_hourly_csv(file, rng):
    stamps = np.datetime64("2010-01-01T00:00") + 60 * np.arange(HOURS)
    temp, rh = rng.uniform(-30, 35, HOURS).round(1), rng.integers(5, 100, HOURS)
    rows = (f"{s},{t},{h},1.5" for s, t, h in zip(stamps, temp, rh, strict=True))
    file.write_text("time,temp_C,rh,wind_speed_mps\n" + "\n".join(rows) + "\n", encoding="utf-8")


def loop_csv(file):
    with file.open(encoding="utf-8") as text:
        rows = csv.reader(text)
        next(rows)
        return [(row[0], *map(float, row[1:])) for row in rows]


def write_isd_lite(file, rng):
    stamps = (np.datetime64("2010-01-01T00") + np.arange(HOURS)).tolist()
    temp = rng.integers(-300, 350, HOURS)
    rows = [
        f"{s.year} {s.month:02d} {s.day:02d} {s.hour:02d} {t:5d} {t - 30:5d} {REST}"
        for s, t in zip(stamps, temp, strict=True)
    ]
    file.write_text("\n".join(rows) + "\n", encoding="ascii")


def loop_isd_lite(file):
    return [[int(cell) for cell in line.split()] for line in file.open(encoding="ascii")]


CASES = {
    f"GHCN-Daily .dly, {YEARS_DAILY} years": (write_dly, loop_dly),
    f"plain hourly CSV, {YEARS_HOURLY} years": (write_hourly_csv, loop_csv),
    f"ISD-Lite, {YEARS_HOURLY} years": (write_isd_lite, loop_isd_lite),
}


def main():
    print(f"{'file':34} {'MB':>6} {'loop s':>8} {'ours s':>8} {'ours / loop':>12}")
    for name, (write, loop) in CASES.items():
        file = Path(tempfile.mkdtemp(), "weather.txt")
        write(file, np.random.default_rng(1))
        plain, ours = best_of(loop, file), best_of(read_weather, file)
        size = file.stat().st_size / 1e6
        print(f"{name:34} {size:6.1f} {plain:8.3f} {ours:8.3f} {ours / plain:12.2f}")


if __name__ == "__main__":
    main()
