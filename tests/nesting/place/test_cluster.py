import pytest

from nesting.place.cluster import cluster_executor
from nesting.place.layout_rules import NestRules
from nesting.place.nest_parts import nest_parts
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import InputError
from vectorize.shapes.outline import Outline

PARTS = [Part("T", Outline.from_points([(0, 0), (70, 0), (0, 50)]), "balsa", 3.0, count=6)]
BOARDS = [Board("B1", "balsa", 3.0, 400.0, 100.0)]


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")  # the library warns of its own sockets when it closes
def test_a_local_cluster_of_two_processes_gives_what_this_process_gives():
    from concurrent.futures import ThreadPoolExecutor

    from distributed import LocalCluster

    options = {"rules": NestRules("saw"), "max_sweeps": 40, "time_limit_s": None, "starts": 2}
    with ThreadPoolExecutor(1) as threads:
        here = nest_parts(PARTS, BOARDS, executor=threads, **options)
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster,
        cluster_executor(cluster.scheduler_address) as executor,
    ):
        there = nest_parts(PARTS, BOARDS, executor=executor, **options)
    assert there.proof.is_proved
    assert there.boards == here.boards


def test_an_address_that_is_none_is_refused_with_what_to_do():
    with pytest.raises(InputError, match="dask scheduler"), cluster_executor("nonsense://x"):
        pass
