"""A small job on a drawing: two plates that are traced in a moment, a rack, a datum and a range."""

PLAN = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100">'
    '<path d="M10 10H70V40H10Z M90 20H150V50H90Z" fill="none" stroke="#000" stroke-width=".3"/></svg>'
)
RACK = """\
name,material,thickness,measured thickness,length,width,mass
B1,balsa,3 mm,,300 mm,100 mm,12 g
B2,balsa,3 mm,,300 mm,100 mm,18 g
"""
JOB = """\
[job]
name = "Drawn"
units = "mm"

[[plan]]
name = "plan"
file = "plan.svg"
size = "as drawn"

[nest]
tool = "saw"

[balance]
datum = [10, 10]
range = ["20 mm", "60 mm"]
in_place = ["plate", "block"]

[[part]]
name = "block"
plan = "plan"
pick = [[120, 35]]
material = "balsa"
thickness = "3 mm"

[[part]]
name = "plate"
plan = "plan"
pick = [[40, 25]]
material = "balsa"
thickness = "3 mm"
grain = "0 deg"
"""


def drawn_job(folder, *, more=""):
    """Write the job into a new folder and return it; `more` is said of the part plate."""
    folder.mkdir()
    (folder / "plan.svg").write_text(PLAN, encoding="utf-8")
    (folder / "rack.csv").write_text(RACK, encoding="utf-8")
    (folder / "job.toml").write_text(JOB + more, encoding="utf-8")
    return folder
