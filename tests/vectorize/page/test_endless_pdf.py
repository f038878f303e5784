"""PDF pages that draw without end, or state a size that no sheet has: refused before pdfium is given them.

Every page here but the last few kept pdfium busy for minutes, or for ever; what is drawn by reference is as
ISO 32000-1 has it (8.7.3 tiling patterns, 8.10 forms, 9.6.5 Type 3 fonts, 11.6.5.3 masks, 12.5.5 appearances).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Pdf, Stream

from vectorize.basics.errors import ScanError
from vectorize.page import list_pages, read_page
from vectorize.page.strokes import bounds_of

LINE = b"10 10 m 100 100 l S "
ITSELF = "page 1 holds a drawing that draws itself; print or export it again"


def saved(file: Path, content: bytes, resources: Callable[[Pdf], Dictionary], **entries: object) -> Path:
    document = pikepdf.new()
    page = document.add_blank_page(page_size=(300, 200))
    page.obj.Contents = document.make_stream(content)
    page.obj.Resources = resources(document)
    for key, value in entries.items():
        page.obj[f"/{key}"] = value
    document.save(file)
    return file


def form(document: Pdf, content: bytes, **resources: Dictionary) -> Stream:
    entries = {"Type": Name.XObject, "Subtype": Name.Form, "BBox": Array([0, 0, 300, 200])}
    return document.make_indirect(Stream(document, content, Resources=Dictionary(**resources), **entries))


def tiling(document: Pdf, content: bytes, step: float = 20.0, **resources: Dictionary) -> Stream:
    entries = {"PatternType": 1, "PaintType": 1, "TilingType": 1, "XStep": step, "YStep": step}
    box = Array([0, 0, 20, 20])
    return document.make_indirect(Stream(document, content, BBox=box, Resources=Dictionary(**resources), **entries))


def masked(group: Stream) -> Dictionary:
    group.Group = Dictionary(S=Name.Transparency, CS=Name.DeviceGray)
    return Dictionary(SMask=Dictionary(S=Name.Luminosity, G=group))


def font(document: Pdf, glyph: bytes, **resources: Dictionary) -> Dictionary:
    return document.make_indirect(
        Dictionary(
            Type=Name.Font,
            Subtype=Name.Type3,
            FontBBox=Array([0, 0, 1000, 1000]),
            FontMatrix=Array([0.001, 0, 0, 0.001, 0, 0]),
            CharProcs=Dictionary(a=document.make_indirect(Stream(document, glyph))),
            Encoding=Dictionary(Differences=Array([97, Name.a])),
            FirstChar=97,
            LastChar=97,
            Widths=Array([1000]),
            Resources=Dictionary(**resources),
        )
    )


def form_in_itself(document: Pdf) -> Dictionary:
    one = form(document, LINE + b"/F Do /F Do ")
    one.Resources.XObject = Dictionary(F=one)
    return Dictionary(XObject=Dictionary(F=one))


def form_that_looks_on_the_page(document: Pdf) -> Dictionary:
    one = form(document, LINE + b"/F Do /F Do ")
    del one.Resources
    return Dictionary(XObject=Dictionary(F=one))


def chain_of_forms(document: Pdf) -> Dictionary:
    one, two, three = (form(document, LINE + b"/F Do /F Do ") for _ in range(3))
    for this, following in ((one, two), (two, three), (three, one)):
        this.Resources.XObject = Dictionary(F=following)
    return Dictionary(XObject=Dictionary(F=one))


def pattern_in_itself(document: Pdf) -> Dictionary:
    one = form(document, b"/Pattern cs /P scn 10 10 90 50 re f 20 20 90 50 re f ")
    pattern = tiling(document, b"/F Do /F Do ", XObject=Dictionary(F=one))
    one.Resources.Pattern = Dictionary(P=pattern)
    return Dictionary(XObject=Dictionary(F=one))


def letter_in_itself(document: Pdf) -> Dictionary:
    one = form(document, b"BT /T 50 Tf 20 20 Td [(a) 5 (aa)] TJ ET ")
    one.Resources.Font = Dictionary(T=font(document, b"1000 0 d0 /F Do /F Do ", XObject=Dictionary(F=one)))
    return Dictionary(XObject=Dictionary(F=one))


def mask_in_itself(document: Pdf) -> Dictionary:
    one = form(document, b"/G gs 10 10 50 50 re f 20 20 50 50 re f ")
    one.Resources.ExtGState = Dictionary(G=masked(one))
    return Dictionary(XObject=Dictionary(F=one))


@pytest.mark.parametrize(
    "resources",
    [
        form_in_itself,
        form_that_looks_on_the_page,
        chain_of_forms,
        pattern_in_itself,
        letter_in_itself,
        mask_in_itself,
    ],
)
def test_what_draws_itself_is_refused(tmp_path: Path, resources: Callable[[Pdf], Dictionary]) -> None:
    file = saved(tmp_path / "plan.pdf", LINE + b"/F Do ", resources)
    for opened in (read_page, list_pages):
        with pytest.raises(ScanError, match=rf"plan\.pdf: {ITSELF}"):
            opened(file)


def test_an_appearance_of_an_annotation_that_draws_itself_is_refused(tmp_path: Path) -> None:
    document = pikepdf.new()
    page = document.add_blank_page(page_size=(300, 200))
    page.obj.Contents = document.make_stream(LINE)
    look = form_in_itself(document).XObject.F
    stamp = Dictionary(Type=Name.Annot, Subtype=Name.Stamp, Rect=Array([0, 0, 9, 9]), AP=Dictionary(N=look))
    page.obj.Annots = Array([document.make_indirect(stamp)])
    document.save(tmp_path / "plan.pdf")
    with pytest.raises(ScanError, match=ITSELF):
        read_page(tmp_path / "plan.pdf")


def forms(document: Pdf, *, levels: int, uses: int) -> Dictionary:
    one = form(document, LINE)
    for _ in range(levels - 1):
        one = form(document, b"/F Do " * uses, XObject=Dictionary(F=one))
    return Dictionary(XObject=Dictionary(F=one))


def masks(document: Pdf) -> Dictionary:
    one = form(document, LINE)
    for _ in range(8):
        one = form(document, b"/G gs " + b"0 0 9 9 re f " * 10, ExtGState=Dictionary(G=masked(one)))
    return Dictionary(XObject=Dictionary(F=one))


def patterns(document: Pdf) -> Dictionary:
    one = tiling(document, LINE)
    for _ in range(8):
        one = tiling(document, b"/Pattern cs /P scn " + b"0 0 9 9 re f " * 10, Pattern=Dictionary(P=one))
    return Dictionary(XObject=Dictionary(F=form(document, b"/P scn 0 0 9 9 re f", Pattern=Dictionary(P=one))))


def letters(document: Pdf) -> Dictionary:
    one = font(document, LINE)
    for _ in range(8):
        one = font(document, b"BT /T 1 Tf (aaaaaaaaaa) Tj ET", Font=Dictionary(T=one))
    return Dictionary(XObject=Dictionary(F=form(document, b"BT /T 1 Tf (a) Tj ET", Font=Dictionary(T=one))))


@pytest.mark.parametrize("resources", [lambda d: forms(d, levels=9, uses=10), masks, patterns, letters])
def test_what_multiplies_beyond_any_plan_is_refused(tmp_path: Path, resources: Callable[[Pdf], Dictionary]) -> None:
    file = saved(tmp_path / "plan.pdf", LINE + b"/F Do ", resources)
    with pytest.raises(ScanError, match="draws more than 1000000 strokes and fills again by reference"):
        read_page(file)


def test_a_pattern_that_lies_on_itself_is_refused(tmp_path: Path) -> None:
    content = b"/Pattern cs /P scn 10 10 200 150 re f"
    for step, is_read in ((5.0, True), (0.001, False)):
        file = saved(
            tmp_path / "plan.pdf", content, lambda d, s=step: Dictionary(Pattern=Dictionary(P=tiling(d, LINE, s)))
        )
        if is_read:
            assert len(read_page(file).strokes) == 1
            continue
        with pytest.raises(ScanError, match="pattern that lies on itself more than 100 times"):
            read_page(file)


@pytest.mark.parametrize("levels", [17, 40])
def test_forms_are_read_as_deep_as_they_lie(tmp_path: Path, levels: int) -> None:
    file = saved(tmp_path / "plan.pdf", b"/F Do ", lambda d: forms(d, levels=levels, uses=1))
    assert len(read_page(file).strokes) == 1


def test_forms_deeper_than_pdfium_reads_them_are_refused_and_not_left_out(tmp_path: Path) -> None:
    file = saved(tmp_path / "plan.pdf", LINE + b"/F Do ", lambda d: forms(d, levels=41, uses=1))
    with pytest.raises(ScanError, match="nests drawings within drawings more than 40 deep"):
        read_page(file)


def test_what_is_used_often_or_only_named_is_read(tmp_path: Path) -> None:
    """Programs name one set of resources for everything, so that a form finds itself in it without drawing itself."""

    def resources(document: Pdf) -> Dictionary:
        shared = document.make_indirect(Dictionary())
        rib, pair = form(document, LINE), form(document, b"/R Do 1 0 0 1 50 0 cm /R Do ")
        shared.XObject = Dictionary(R=rib, P=pair)
        rib.Resources = pair.Resources = shared
        return Dictionary(XObject=Dictionary(P=pair))

    page = read_page(saved(tmp_path / "plan.pdf", b"/P Do 1 0 0 1 0 50 cm /P Do ", resources))
    assert len(page.strokes) == 4
    k = 300 / 72
    bounds = bounds_of(page.strokes)
    assert bounds == pytest.approx((10 * k - 0.5, 50 * k - 0.5, 150 * k - 0.5, 190 * k - 0.5), abs=1e-3)


def test_names_that_are_no_utf_8_are_read(tmp_path: Path) -> None:
    def resources(document: Pdf) -> Dictionary:
        form_dictionary = pikepdf.Object.parse(b"<< /F\xe9 0 >>")
        (name,) = form_dictionary.keys()
        form_dictionary[name] = form(document, LINE)
        return Dictionary(XObject=form_dictionary)

    assert len(read_page(saved(tmp_path / "plan.pdf", b"/F\xe9 Do", resources)).strokes) == 1


def test_a_file_that_only_one_reader_can_mend_is_refused_as_nobody_can_count_what_it_draws(tmp_path: Path) -> None:
    file = saved(tmp_path / "plan.pdf", LINE + b"/F Do ", lambda d: forms(d, levels=9, uses=10))
    data = file.read_bytes()
    assert data.count(b"/Type /Pages >>") == 1
    file.write_bytes(data.replace(b"/Type /Pages >>", b"/Type /Pages1>"))
    with pytest.raises(
        ScanError, match=r"plan\.pdf is damaged \([^<]*\); open it in a viewer and print it as a new PDF"
    ):
        read_page(file)


@pytest.mark.parametrize(
    ("box", "unit", "said"),
    [
        ((0, 0, 0, 0), 1, "0 x 0 mm"),
        ((0, 0, 300, 0), 1, "105.8 x 0 mm"),
        ((5, 5, 5.5, 5.5), 1, "0.1764 x 0.1764 mm"),
        ((0, 0, 300, 200), 0.001, "0.1058 x 0.07056 mm"),
        ((0, 0, 1e9, 1e9), 1, r"3.528e\+08 x 3.528e\+08 mm"),
    ],
)
def test_a_page_of_a_size_that_no_sheet_has_is_refused(
    tmp_path: Path, box: tuple[float, ...], unit: float, said: str
) -> None:
    file = saved(tmp_path / "plan.pdf", LINE, lambda _: Dictionary(), MediaBox=Array(box), UserUnit=unit)
    for opened in (read_page, list_pages):
        with pytest.raises(ScanError, match=rf"page 1 states a size of {said}, which is no sheet; print or export"):
            opened(file)


def test_a_box_written_from_its_upper_right_is_the_same_sheet(tmp_path: Path) -> None:
    file = saved(tmp_path / "plan.pdf", LINE, lambda _: Dictionary(), MediaBox=Array([300, 200, 0, 0]))
    assert read_page(file).stated_size_mm == pytest.approx((300 / 72 * 25.4, 200 / 72 * 25.4))
