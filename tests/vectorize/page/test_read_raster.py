"""Pictures of every ordinary kind arrive upright, in 8-bit grey, with their stated resolution weighed."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, TiffImagePlugin

from vectorize.basics.errors import ScanError
from vectorize.page import list_pages, read_page

JPEG_NOISE = 3.0  # mean grey levels by which JPEG at its default quality moves a flat picture


def asymmetric(height: int = 200, width: int = 300) -> np.ndarray:
    """White sheet with a black L in its upper left corner, so that every turn and mirror shows."""
    sheet = np.full((height, width), 255, np.uint8)
    sheet[20:30, 10:100] = 0
    sheet[20:150, 10:20] = 0
    return sheet


# EXIF 2.32 (JEITA CP-3451), tag 0x0112: which edge of the picture row 0 and column 0 are.
TURNS = {
    1: lambda a: a,
    2: np.fliplr,
    3: lambda a: np.rot90(a, 2),
    4: np.flipud,
    5: np.transpose,
    6: lambda a: np.rot90(a, -1),
    7: lambda a: np.rot90(a, 2).T,
    8: lambda a: np.rot90(a, 1),
}


@pytest.mark.parametrize("suffix", ["jpg", "png", "tif"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_tag_is_obeyed_exactly_once(tmp_path: Path, suffix: str, orientation: int) -> None:
    file = tmp_path / f"turned.{suffix}"
    picture = Image.fromarray(asymmetric())
    if suffix == "tif":
        picture.save(file, dpi=(300, 200), tiffinfo={0x112: orientation})
    else:
        exif = Image.Exif()
        exif[0x112] = orientation
        picture.save(file, dpi=(300, 200), exif=exif)
    page = read_page(file)
    expected = TURNS[orientation](asymmetric())
    assert page.grey is not None
    assert page.grey.shape == expected.shape
    assert np.abs(page.grey.astype(int) - expected).mean() < JPEG_NOISE
    (info,) = list_pages(file)
    assert (info.width, info.height) == (page.width, page.height)
    dpi = (300, 200) if orientation < 5 else (200, 300)
    assert page.stated_px_per_mm == pytest.approx((dpi[0] / 25.4, dpi[1] / 25.4), rel=1e-3)


@pytest.mark.parametrize("orientation", [6, 8])
def test_a_fax_on_its_side_is_turned(tmp_path: Path, orientation: int) -> None:
    file = tmp_path / "fax.tif"
    fax = Image.fromarray(asymmetric()).convert("1")
    fax.save(file, compression="group4", tiffinfo={0x112: orientation})
    page = read_page(file)
    assert page.grey is not None
    np.testing.assert_array_equal(page.grey, TURNS[orientation](asymmetric()))


def test_only_the_first_picture_of_a_jpeg_is_a_page(tmp_path: Path) -> None:
    # Phones append a preview or a depth picture to the photo.
    file = tmp_path / "phone.jpg"
    Image.fromarray(asymmetric()).save(file, "MPO", save_all=True, append_images=[Image.new("L", (30, 20))])
    page = read_page(file)
    assert (page.count, page.width, page.height) == (1, 300, 200)


def test_printers_colours_are_read(tmp_path: Path) -> None:
    file = tmp_path / "cmyk.jpg"
    Image.fromarray(asymmetric()).convert("RGB").convert("CMYK").save(file, quality=95)
    grey = read_page(file).grey
    assert grey is not None
    assert np.abs(grey.astype(int) - asymmetric()).mean() < JPEG_NOISE


@pytest.mark.parametrize("compression", ["group4", "raw", "tiff_deflate", "tiff_lzw"])
def test_one_bit_tiff_is_black_on_white(tmp_path: Path, compression: str) -> None:
    file = tmp_path / "fax.tif"
    Image.fromarray(asymmetric()).convert("1").save(file, compression=compression)
    page = read_page(file)
    assert page.grey is not None
    np.testing.assert_array_equal(page.grey, asymmetric())


@pytest.mark.parametrize("suffix", ["png", "tif"])
def test_sixteen_bit_ramp_keeps_its_levels(tmp_path: Path, suffix: str) -> None:
    file = tmp_path / f"ramp.{suffix}"
    ramp = np.tile(np.linspace(0, 65535, 256).astype(np.uint16), (20, 1))
    Image.fromarray(ramp).save(file)
    grey = read_page(file).grey
    assert grey is not None
    assert np.abs(grey[0].astype(int) - np.arange(256)).max() <= 1


@pytest.mark.parametrize("dtype", [np.float32, np.int32])
def test_other_deep_grey_is_scaled_and_not_clipped(tmp_path: Path, dtype: type) -> None:
    file = tmp_path / "deep.tif"
    top = 1.0 if dtype is np.float32 else 60000
    Image.fromarray(np.tile(np.linspace(0, top, 256).astype(dtype), (20, 1))).save(file)
    grey = read_page(file).grey
    assert grey is not None
    assert len(np.unique(grey)) > 200
    assert grey[0, 0] == 0
    assert grey[0, -1] >= 230


def test_big_endian_sixteen_bit_tiff_is_scaled(tmp_path: Path) -> None:
    import tifffile

    file = tmp_path / "big.tif"
    ramp = np.tile(np.linspace(0, 65535, 256).astype(np.uint16), (20, 1))
    tifffile.imwrite(file, ramp, byteorder=">")
    grey = read_page(file).grey
    assert grey is not None
    assert np.abs(grey[0].astype(int) - np.arange(256)).max() <= 1


def test_transparent_is_white(tmp_path: Path) -> None:
    sheet = np.zeros((40, 60, 4), np.uint8)
    sheet[10:20, 10:50, 3] = 255
    for mode in ("RGBA", "LA", "P"):
        file = tmp_path / f"clear-{mode}.png"
        Image.fromarray(sheet).convert(mode).save(file, **({"transparency": 0} if mode == "P" else {}))
        grey = read_page(file).grey
        assert grey is not None
        assert grey[0, 0] == 255
        if mode != "P":
            assert grey[15, 30] == 0


def test_palette_shows_its_colours(tmp_path: Path) -> None:
    file = tmp_path / "palette.png"
    Image.fromarray(asymmetric()).convert("RGB").quantize(4).save(file)
    grey = read_page(file).grey
    assert grey is not None
    assert np.abs(grey.astype(int) - asymmetric()).max() <= 2


@pytest.mark.parametrize(
    ("paper", "ink"),
    [((255, 255, 255), (0, 190, 220)), ((30, 60, 140), (235, 240, 255)), ((225, 205, 160), (70, 45, 20))],
    ids=["cyan on white", "white on blue", "brown on sepia"],
)
def test_coloured_ink_keeps_most_of_its_best_contrast(
    tmp_path: Path, paper: tuple[int, int, int], ink: tuple[int, int, int]
) -> None:
    sheet = np.empty((*asymmetric().shape, 3), np.uint8)
    sheet[:] = paper
    sheet[asymmetric() == 0] = ink
    Image.fromarray(sheet).save(tmp_path / "ink.png")
    grey = read_page(tmp_path / "ink.png").grey
    assert grey is not None
    seen = abs(int(grey[100, 15]) - int(grey[100, 200]))
    assert seen > 0.85 * max(abs(p - i) for p, i in zip(paper, ink, strict=True))


def test_pages_of_a_tiff_are_listed_with_size_and_thumbnails_skipped(tmp_path: Path) -> None:
    file = tmp_path / "set.tif"
    sizes = [(600, 300), (300, 600), (400, 400)]
    with TiffImagePlugin.AppendingTiffWriter(str(file), True) as out:
        for n, (width, height) in enumerate(sizes):
            Image.new("L", (width, height), 255).save(out, dpi=(100 * (n + 1),) * 2)
            out.newFrame()
            Image.new("L", (width // 10, height // 10), 255).save(out, tiffinfo={254: 1})
            out.newFrame()
    pages = list_pages(file)
    assert [(p.width, p.height) for p in pages] == sizes
    assert pages[1].size_mm == pytest.approx((300 / 200 * 25.4, 600 / 200 * 25.4), rel=1e-3)
    third = read_page(file, page=3)
    assert (third.width, third.height, third.number, third.count) == (400, 400, 3, 3)
    assert any(note.code == "page-of-many" for note in third.notes)
    with pytest.raises(ScanError, match=r"has 3 pages; page 4 does not exist"):
        read_page(file, page=4)


# Stated and believed resolution.


@pytest.mark.parametrize(
    ("dpi", "code"),
    [((96, 96), "dpi-stated"), (None, "dpi-missing"), ((1, 1), "dpi-not-credible"), ((5000, 5000), "dpi-not-credible")],
)
def test_resolution_is_a_hint_with_the_page_size_it_implies(
    tmp_path: Path, dpi: tuple[int, int] | None, code: str
) -> None:
    file = tmp_path / "a4.jpg"
    Image.new("L", (1654, 2339), 255).save(file, **({} if dpi is None else {"dpi": dpi}))
    page = read_page(file)
    assert code in [note.code for note in page.notes]
    assert (page.stated_px_per_mm is None) == (code != "dpi-stated")
    if code == "dpi-stated":
        # An A4 page at 200 dpi that claims 96: 1654 / 96 in by 2339 / 96 in.
        assert any("438 x 619 mm" in note.text for note in page.notes)


@pytest.mark.parametrize(("unit", "dpi"), [(0, None), (1, 300.0), (2, 762.0)])
def test_jfif_density_unit_is_obeyed(tmp_path: Path, unit: int, dpi: float | None) -> None:
    # JFIF 1.02: units byte 0 = aspect ratio only, 1 = dots per inch, 2 = dots per cm.
    file = tmp_path / "jfif.jpg"
    Image.new("L", (300, 300), 255).save(file, dpi=(300, 300))
    data = bytearray(file.read_bytes())
    data[data.index(b"JFIF\0") + 7] = unit
    file.write_bytes(data)
    stated = read_page(file).stated_px_per_mm
    assert stated == (None if dpi is None else pytest.approx((dpi / 25.4, dpi / 25.4), rel=1e-3))


# Bad input: one sentence each.


def test_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(ScanError, match=r"lost\.png does not exist"):
        read_page(tmp_path / "lost.png")


def test_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ScanError, match="is a folder"):
        read_page(tmp_path)


def test_empty_file_is_said(tmp_path: Path) -> None:
    (tmp_path / "plan.png").touch()
    with pytest.raises(ScanError, match=r"plan\.png is empty \(0 bytes\)"):
        read_page(tmp_path / "plan.png")


def test_text_named_png_is_said_to_hold_text(tmp_path: Path) -> None:
    (tmp_path / "plan.png").write_text("not a picture\n" * 40, encoding="utf-8")
    with pytest.raises(ScanError, match=r"plan\.png is not a plan that can be read: it holds text"):
        read_page(tmp_path / "plan.png")


@pytest.mark.parametrize("suffix", ["png", "jpg", "tif"])
def test_truncated_picture_is_refused(tmp_path: Path, suffix: str) -> None:
    file = tmp_path / f"cut.{suffix}"
    noise = np.random.default_rng(1).integers(0, 256, (200, 300), dtype=np.uint8)
    Image.fromarray(noise).save(file)
    file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])
    with pytest.raises(ScanError, match="damaged or cut short"):
        read_page(file)


def test_size_limit_is_stated_with_the_way_to_raise_it(tmp_path: Path) -> None:
    file = tmp_path / "big.tif"
    Image.new("1", (3000, 2000), 1).save(file, compression="group4", dpi=(300, 300))
    with pytest.raises(ScanError, match=r"3000 x 2000 pixels \(254 x 169 mm\).*limit is 5 million.*= 6 in") as caught:
        read_page(file, largest_megapixels=5)
    assert "--largest-megapixels 6 " in str(caught.value)
    assert read_page(file, largest_megapixels=6).width == 3000


def test_sheet_beyond_the_librarys_own_limit_is_listed_and_read(tmp_path: Path) -> None:
    file = tmp_path / "sheet.tif"
    Image.new("1", (20000, 10000), 1).save(file, compression="group4", dpi=(400, 400))
    (info,) = list_pages(file)
    assert info.size_mm == pytest.approx((1270, 635), abs=0.1)
    assert read_page(file).grey is not None


@pytest.mark.parametrize("name", ["Höhenleitwerk Ø3 – Крыло.png", "a plan's #1.png"])
def test_any_file_name_is_read(tmp_path: Path, name: str) -> None:
    Image.fromarray(asymmetric()).save(tmp_path / name)
    assert read_page(tmp_path / name).name == name


@pytest.mark.parametrize("compression", ["tiff_lzw", "tiff_adobe_deflate", "group4", "packbits"])
def test_what_the_library_says_of_a_damaged_tiff_does_not_come_to_the_terminal(
    tmp_path: Path, compression: str, capfd: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "torn.tif"
    grain = np.random.default_rng(1).integers(0, 255, (60, 80), dtype=np.uint8)
    picture = Image.fromarray(grain)
    (picture.convert("1") if compression == "group4" else picture).save(file, "TIFF", compression=compression)
    data = bytearray(file.read_bytes())
    data[100:140] = b"\xff" * 40
    file.write_bytes(data)
    with suppress(ScanError):  # not every damage can be seen
        read_page(file)
    os.write(2, b"said afterwards")
    assert capfd.readouterr().err == "said afterwards"
