"""`model` writes the parts of a job as solids that another reader opens."""

import pytest
import trimesh

from .test_wood_commands import MODEL


def test_the_file_holds_every_copy_with_its_mass(sheetwood, small_job):
    small_job.edit("[nest]\n", f"{MODEL}\n[nest]\n")
    done = sheetwood("model", small_job.folder, "--json")
    bodies = done.json["bodies"]
    scene = trimesh.load(small_job.folder / "out" / "model.glb")
    assert len(scene.graph.nodes_geometry) == len(bodies) == 3  # the plate, and the fin as a pair
    weighed = sheetwood("weigh", small_job.folder, "--json").json
    assert done.json["mass_g"] == pytest.approx(weighed["total_g"], abs=0.001)
    metadata = [scene.graph.transforms.edge_data["world", name]["metadata"] for name in scene.graph.nodes_geometry]
    assert sum(one["mass_g"] for one in metadata) == pytest.approx(weighed["total_g"], abs=0.001)
    volume = sum(geometry.volume for geometry in scene.geometry.values())
    assert volume * 1e9 == pytest.approx(sum(one["volume_mm3"] for one in bodies), rel=1e-4)


def test_without_places_all_lies_beside_and_that_is_left_open(sheetwood, small_job):
    done = sheetwood("model", small_job.folder)
    assert done.code == 4
    assert done.out.count("beside the model") == 3
    assert "give [balance] datum" in done.err


def test_an_edited_file_is_kept(sheetwood, small_job):
    sheetwood("model", small_job.folder)
    path = small_job.folder / "out" / "model.glb"
    path.write_bytes(b"mine")
    assert "model.glb" in sheetwood("model", small_job.folder).err
    assert path.read_bytes() == b"mine"
    sheetwood("model", small_job.folder, "--force")
    assert len(trimesh.load(path).geometry) == 3
