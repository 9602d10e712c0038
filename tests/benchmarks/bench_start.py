"""How long a command takes, as multiples of `python -c pass` in the same run.

    python tests/benchmarks/bench_start.py RESULTS [--runs N]

RESULTS is a results folder with a front (the limit for `front` is meant for 500 members). All commands take turns, so
that a noisy machine troubles all alike; medians are compared. Ends with exit code 1 where one is over its limit.
"""

import argparse
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
STUDY = ROOT / "configs" / "front.yaml"
ENTRY = "from optimiser.cli.main import run; run()"

LIMITS = {"pass": 1.0, "-h": 4.0, "check": 25.0, "analyse": 25.0, "front": 12.0}
"""Each command's largest multiple of bare Python's time."""
RUNS = 9
DONE = (0, 1)
"""Exit codes of a command that did its work: 1 is an honest no."""


def start_times(commands: dict[str, list[str]], runs: int) -> dict[str, float]:
    """Median time of each command line [s], all taking turns."""
    times: dict[str, list[float]] = {name: [] for name in commands}
    for _ in range(runs):
        for name, line in commands.items():
            times[name].append(_run(line))
    return {name: median(values) for name, values in times.items()}


def command_lines(results: Path | None) -> dict[str, list[str]]:
    """Every command that is timed; `front` only where there is a results folder."""
    own = [sys.executable, "-c", ENTRY]
    lines = {
        "pass": [sys.executable, "-c", "pass"],
        "-h": [*own, "-h"],
        "check": [*own, "check", str(STUDY)],
        "analyse": [*own, "analyse", str(STUDY)],
    }
    return lines if results is None else {**lines, "front": [*own, "front", str(results)]}


def main(argv: list[str] | None = None) -> int:
    """Measure, print, and say by the exit code whether every command stays within its limit."""
    parser = argparse.ArgumentParser(description="start-up times as multiples of bare Python's")
    parser.add_argument("results", type=Path, nargs="?", help="a results folder; without it `front` is left out")
    parser.add_argument("--runs", type=int, default=RUNS, help=f"runs of each command (default {RUNS})")
    args = parser.parse_args(argv)
    times = start_times(command_lines(args.results), args.runs)
    ratios = {name: value / times["pass"] for name, value in times.items()}
    for name, ratio in ratios.items():
        sys.stdout.write(f"{name:10s} {1e3 * times[name]:7.0f} ms {ratio:7.1f} (at most {LIMITS[name]:.0f})\n")
    return 0 if all(ratio <= LIMITS[name] for name, ratio in ratios.items()) else 1


def _run(line: list[str]) -> float:
    """Time of one command line [s]. Raises RuntimeError with what it said where it failed."""
    start = time.perf_counter()
    done = subprocess.run(line, cwd=ROOT, capture_output=True, text=True, check=False)
    elapsed = time.perf_counter() - start
    if done.returncode not in DONE:
        raise RuntimeError(f"{' '.join(line[2:])} ended with exit code {done.returncode}:\n{done.stderr}")
    return elapsed


if __name__ == "__main__":
    raise SystemExit(main())
