"""Whole jobs spoilt by seeded rules, every command run on them: what comes out must be a sentence, and nothing lost.

python -m tests.benchmarks.mutate --seed 1 --count 1000 --workers 1 --out failures
python -m tests.benchmarks.mutate --seed 1 --only 17

Cases run in worker processes that may take 60 s of the processor and 3 GB for each; more is a failure like any other.
Each distinct failure is written as a small folder: the job as the command found it, what was done to it, and where it
ended.
"""

from __future__ import annotations

import argparse
import json
import shutil
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict
from pathlib import Path

from tests.benchmarks.outcome import Failure, Outcome, Tally, scratch_folder
from tests.benchmarks.supervisor import Supervisor

CASES = "tests.benchmarks.spoilt:Cases"


def keep_failure(supervisor: Supervisor, out: Path, failure: Failure, outcome: Outcome, seed: int) -> None:
    """Write a failure of a new kind as a folder: the job as it was found, and what happened."""
    folder = out / failure.name
    if folder.exists():
        return
    supervisor.keep(folder, seed, outcome.number)
    case = asdict(outcome) | {"seed": seed, "failures": []}
    (folder / "case.json").write_text(json.dumps(case, indent=1, ensure_ascii=False), encoding="utf-8")
    (folder / "what.txt").write_text(failure.text, encoding="utf-8", errors="backslashreplace")


def run_cases(seed: int, numbers: range, *, workers: int, out: Path | None, scratch: Path) -> Iterator[Outcome]:
    """Run cases on several workers and give each outcome as it comes; new kinds of failures go to `out`."""
    supervisors = [Supervisor(CASES, scratch / f"w{number}") for number in range(workers)]

    def share(first: int) -> list[Outcome]:
        done = []
        for number in numbers[first::workers]:
            outcome = supervisors[first].outcome(seed, number)
            for failure in outcome.failures if out is not None else ():
                keep_failure(supervisors[first], out, failure, outcome, seed)
            done.append(outcome)
            if len(done) % 100 == 0:
                print(f"{len(done) * workers} of {len(numbers)}", flush=True)
        return done

    try:
        with ThreadPoolExecutor(workers) as pool:
            for outcomes in pool.map(share, range(workers)):
                yield from outcomes
    finally:
        for supervisor in supervisors:
            supervisor.close()


def main() -> None:
    """Run the cases that were asked for and print the figures; exits with 1 if one failed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--first", type=int, default=0, help="number of the first case")
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--only", type=int, help="run this case alone, and show what failed")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--out", type=Path, help="folder for failures")
    parser.add_argument("--scratch", type=Path, help="folder to work in, kept with its jobs for the next run")
    options = parser.parse_args()
    numbers = range(options.first, options.first + options.count)
    if options.only is not None:
        numbers = range(options.only, options.only + 1)
    scratch = options.scratch or scratch_folder()
    try:
        began, tally = time.monotonic(), Tally()
        for outcome in run_cases(options.seed, numbers, workers=options.workers, out=options.out, scratch=scratch):
            tally.add(outcome)
            if options.only is not None:
                print(outcome, *(failure.text for failure in outcome.failures), sep="\n")
        print(tally.told(time.monotonic() - began))
    finally:
        if options.scratch is None:
            shutil.rmtree(scratch, ignore_errors=True)
    raise SystemExit(1 if tally.kinds else 0)


if __name__ == "__main__":
    main()
