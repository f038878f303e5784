import pypdfium2
import pytest

from nesting.charts.shopping_card import NOTHING, shopping_card_pdf
from nesting.patterns.papers import Paper, find_paper
from nesting.wood.shopping import Wanted
from vectorize.basics.errors import InputError


def wanted(number, parts=("rib",), *, is_asked_for=True):
    return Wanted("balsa", float(number), 1000.0, 100.0, 2, parts, (100.0, 130.0), is_asked_for)


def pages(card):
    return [page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(card)]


def test_each_line_says_how_many_of_what_and_the_mass_of_one():
    (words,) = pages(shopping_card_pdf("Sedge", [wanted(3), wanted(5, is_asked_for=False)], paper=find_paper("A4")))
    # 1000 x 100 x 3 mm at 100 and 130 kg/m3: 30 and 39 g.
    assert all(text in words for text in ("Shopping card: Sedge", "30 g to 39 g", "50 g to 65 g", "asked for", "usual"))
    in_inches = pages(shopping_card_pdf("Sedge", [wanted(3)], paper=find_paper("Letter"), units="in"))[0]
    assert "1.06 oz" in in_inches or "1.1 oz" in in_inches
    # A pound to the cubic foot is 16.018 kg/m3 (NIST SP 811, appendix B).
    assert "lb/ft³" in in_inches
    assert "6.2 to 8.1" in in_inches


def test_no_line_and_no_part_is_lost_on_a_long_card():
    lines = [wanted(n, tuple(f"part-{n}-{k}" for k in range(40))) for n in range(1, 31)]
    card = pages(shopping_card_pdf("Sedge", lines, paper=find_paper("A4")))
    words = " ".join(" ".join(card).split())
    assert all(name in words for line in lines for name in line.parts)
    assert all(page.startswith("Shopping card") for page in card)


def test_an_empty_card_says_so_and_a_small_paper_is_refused():
    assert NOTHING in pages(shopping_card_pdf("Sedge", [], paper=find_paper("A4")))[0]
    with pytest.raises(InputError, match="A4 or Letter"):
        shopping_card_pdf("Sedge", [], paper=Paper("narrow", 148, 210))
