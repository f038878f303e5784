"""A case that hangs, eats memory or dies ends its own process, not the run."""

import os
import time

from tests.benchmarks.outcome import Outcome, Tally
from tests.benchmarks.supervisor import Supervisor


class Dangerous:
    """Cases that go wrong by their numbers."""

    def __init__(self, scratch):
        scratch.mkdir(exist_ok=True)

    def __call__(self, seed, number):
        match number:
            case 1:
                time.sleep(3600)
            case 2:
                bytearray(8 * 1024**3)
            case 3:
                os.abort()
            case 4:
                while True:
                    pass
        return Outcome(number, "none", command="trace", code=0)


def test_a_case_that_hangs_eats_memory_or_dies_is_told_and_the_next_one_runs(tmp_path):
    supervisor = Supervisor("tests.test_supervisor:Dangerous", tmp_path / "w", limit_s=3.0, hang_s=20.0)
    outcomes = [supervisor.outcome(1, number) for number in range(6)]
    supervisor.close()
    kinds = [[failure.kind for failure in outcome.failures] for outcome in outcomes]
    assert kinds == [[], ["time"], ["memory"], ["died"], ["time"], []]
    tally = Tally()
    for outcome in outcomes:
        tally.add(outcome)
    assert sorted(tally.kinds.values()) == [[1, 4], [2], [3]]
    assert "6 cases" in tally.told(1.0)
