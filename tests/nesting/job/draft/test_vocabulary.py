"""The tables of words, and those that a builder adds."""

import pytest

from nesting.job.draft.vocabulary import is_near, load_vocabulary, plain_phrase, plain_word
from vectorize.basics.errors import CallError


def test_words_are_compared_without_accents_case_and_full_stops():
    assert plain_word("Req'd.") == plain_word("REQD") == "REQD"
    assert plain_word("Höhe") == "HOHE"
    assert plain_phrase("L.H. & R.H.") == ("LH", "&", "RH")


@pytest.mark.parametrize(
    ("first", "second", "near"),
    [("BALSA", "BASA", True), ("BALSA", "BALSO", True), ("BALSA", "BALSAX", True), ("BALSA", "BOLSO", False)],
)
def test_a_long_word_may_have_one_letter_wrong(first, second, near):
    assert is_near(first, second) == near


def test_short_words_are_compared_exactly():
    assert not is_near("OFF", "OF")


def test_a_builders_table_adds_words_and_comes_first(tmp_path):
    own = tmp_path / "words.toml"
    own.write_text('[material]\nobechi = ["obechi", "samba"]\n[words]\noff = ["stuks"]\n[names]\nparts = ["vleugel"]\n')
    words = load_vocabulary(own)
    assert words.meaning(("SAMBA",)) == ("material", "obechi")
    assert words.meaning(("STUKS",)) == ("off", "")
    assert words.is_name(("VLEUGEL",))
    assert words.meaning(("BALSA",)) == ("material", "balsa")


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ("[wood]\nbalsa = ['balsa']\n", "no table of words"),
        ("[words]\nmany = ['lots']\n", "no list 'many'"),
        ("[words]\noff = 'stuks'\n", "no list of words"),
        ("[words\n", "cannot be read"),
    ],
)
def test_a_table_that_is_none_is_refused_with_what_it_should_be(tmp_path, table, told):
    own = tmp_path / "words.toml"
    own.write_text(table)
    with pytest.raises(CallError, match=told):
        load_vocabulary(own)


def test_a_table_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(CallError, match="cannot be read"):
        load_vocabulary(tmp_path / "none.toml")
