"""Letters of dots: all there, all different, marks where there is room."""

import unicodedata

import numpy as np
import pytest

from node_agent.render.dot_letters import ROWS, words_in_dots

ASCII = "".join(map(chr, range(33, 127)))
MARKED = "ÀÁÂÃÄÅÇÈÉÊËÌÍÎÏÑÒÓÔÕÖÙÚÛÜÝàáâãäåçèéêëìíîïñòóôõöùúûüýÿĄąĆćĘęĞğİŁłŃńŐőŒœŘřŚśŞşŠšŰűŹźŻżŽžßæÆøØðÐþÞ"


def drawn(words: str) -> str:
    return "\n".join("".join("#" if dot else "." for dot in row) for row in words_in_dots(words))


def test_every_printable_character_of_ascii_has_a_letter_of_its_own() -> None:
    letters = {drawn(character) for character in ASCII}
    assert len(letters) == len(ASCII)
    assert all(words_in_dots(character).any() for character in ASCII)


def test_no_letter_is_larger_than_its_cell_nor_has_empty_edges() -> None:
    for character in ASCII + MARKED:
        dots = words_in_dots(character)
        assert dots.shape[0] == ROWS
        assert 1 <= dots.shape[1] <= 5
        assert dots[:, 0].any()
        assert dots[:, -1].any()


def test_every_letter_of_western_and_central_europe_differs_from_its_base() -> None:
    for character in MARKED:
        base = unicodedata.normalize("NFD", character)[0]
        assert base == character or drawn(character) != drawn(base), character
    for case in (str.isupper, str.islower):
        letters = [character for character in MARKED if case(character)]
        assert len({drawn(character) for character in letters}) == len(letters)


def test_capitals_make_room_for_their_mark() -> None:
    assert drawn("É") == "...#.\n..#..\n#####\n#....\n####.\n#....\n#####"


def test_a_mark_without_room_leaves_the_base_letter() -> None:
    assert drawn("ď") == drawn("d")


@pytest.mark.parametrize(("one", "other"), [("é", "e\u0301"), ("\u2019", "'"), ("\u2026", "..."), ("a\u00a0b", "a b")])
def test_spellings_of_the_same_look_the_same(one: str, other: str) -> None:
    assert drawn(one) == drawn(other)


def test_letters_stand_an_empty_column_apart() -> None:
    np.testing.assert_array_equal(
        words_in_dots("il"), np.concatenate([words_in_dots("i"), np.zeros((ROWS, 1), bool), words_in_dots("l")], axis=1)
    )
