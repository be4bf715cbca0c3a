"""Letters of our own on 7 rows of dots, up to 5 dots wide: ASCII, and what Western and Central Europe writes beside it.

A letter with a mark (é, ü, Š) is drawn from its base and the mark: small letters leave two rows above themselves,
capitals make room by giving up rows that repeat the one above. Where there is no room, as over a small d, the base
letter stands.
"""

import unicodedata
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from pydantic_core import PydanticCustomError

ROWS: Final = 7
SPACE_COLUMNS: Final = 2  # beside the empty column after each letter

_CELL: Final = 6
_DRAWN: Final = r"""
!     "     #     $     %     &     '     (     )     *     +     ,     -     .     /     0
#.... #.#.. .#.#. ..#.. ##..# .##.. #.... ..#.. #.... ..... ..... ..... ..... ..... ....# .###.
#.... #.#.. .#.#. .#### ##.#. #..#. #.... .#... .#... ..#.. ..#.. ..... ..... ..... ....# #...#
#.... ..... ##### #.#.. ...#. #.#.. ..... #.... ..#.. #.#.# ..#.. ..... ..... ..... ...#. #..##
#.... ..... .#.#. .###. ..#.. .#... ..... #.... ..#.. .###. ##### ..... ####. ..... ..#.. #.#.#
#.... ..... ##### ..#.# .#... #.#.# ..... #.... ..#.. #.#.# ..#.. .#... ..... ..... .#... ##..#
..... ..... .#.#. ####. .#.## #..#. ..... .#... .#... ..#.. ..#.. .#... ..... ##... #.... #...#
#.... ..... .#.#. ..#.. #..## .##.# ..... ..#.. #.... ..... ..... #.... ..... ##... #.... .###.
1     2     3     4     5     6     7     8     9     :     ;     <     =     >     ?     @
.#... .###. ##### ...#. ##### ..##. ##### .###. .###. ..... ..... ..... ..... ..... .###. .###.
##... #...# ...#. ..##. #.... .#... ....# #...# #...# ##... .#... ...#. ..... .#... #...# #...#
.#... ....# ..#.. .#.#. ####. #.... ...#. #...# #...# ##... .#... ..#.. ####. ..#.. ....# #.###
.#... ...#. ...#. #..#. ....# ####. ..#.. .###. .#### ..... ..... .#... ..... ...#. ...#. #.#.#
.#... ..#.. ....# ##### ....# #...# .#... #...# ....# ##... .#... ..#.. ####. ..#.. ..#.. #.###
.#... .#... #...# ...#. #...# #...# .#... #...# ...#. ##... .#... ...#. ..... .#... ..... #....
###.. ##### .###. ...#. .###. .###. .#... .###. .##.. ..... #.... ..... ..... ..... ..#.. .###.
A     B     C     D     E     F     G     H     I     J     K     L     M     N     O     P
.###. ####. .###. ####. ##### ##### .#### #...# ###.. ..### #...# #.... #...# #...# .###. ####.
#...# #...# #...# #...# #.... #.... #.... #...# .#... ...#. #..#. #.... ##.## #...# #...# #...#
#...# #...# #.... #...# #.... #.... #.... #...# .#... ...#. #.#.. #.... #.#.# ##..# #...# #...#
##### ####. #.... #...# ####. ####. #..## ##### .#... ...#. ##... #.... #.#.# #.#.# #...# ####.
#...# #...# #.... #...# #.... #.... #...# #...# .#... ...#. #.#.. #.... #...# #..## #...# #....
#...# #...# #...# #...# #.... #.... #...# #...# .#... #..#. #..#. #.... #...# #...# #...# #....
#...# ####. .###. ####. ##### #.... .###. #...# ###.. .##.. #...# ##### #...# #...# .###. #....
Q     R     S     T     U     V     W     X     Y     Z     [     \     ]     ^     _     `
.###. ####. .#### ##### #...# #...# #...# #...# #...# ##### ###.. #.... ###.. ..#.. ..... #....
#...# #...# #.... ..#.. #...# #...# #...# #...# #...# ....# #.... #.... ..#.. .#.#. ..... .#...
#...# #...# #.... ..#.. #...# #...# #...# .#.#. .#.#. ...#. #.... .#... ..#.. #...# ..... .....
#...# ####. .###. ..#.. #...# #...# #.#.# ..#.. ..#.. ..#.. #.... ..#.. ..#.. ..... ..... .....
#.#.# #..#. ....# ..#.. #...# #...# #.#.# .#.#. ..#.. .#... #.... ...#. ..#.. ..... ..... .....
#..#. #...# ....# ..#.. #...# .#.#. ##.## #...# ..#.. #.... #.... ....# ..#.. ..... ..... .....
.##.# #...# ####. ..#.. .###. ..#.. #...# #...# ..#.. ##### ###.. ....# ###.. ..... ##### .....
a     b     c     d     e     f     g     h     i     j     k     l     m     n     o     p
..... #.... ..... ....# ..... ..##. ..... #.... .#... ..#.. #.... ##... ..... ..... ..... .....
..... #.... ..... ....# ..... .#... ..... #.... ..... ..... #.... .#... ..... ..... ..... .....
.###. #.##. .###. .##.# .###. ####. .#### #.##. ##... .##.. #..#. .#... ##.#. #.##. .###. ####.
....# ##..# #...# #..## #...# .#... #...# ##..# .#... ..#.. #.#.. .#... #.#.# ##..# #...# #...#
.#### #...# #.... #...# ##### .#... .#### #...# .#... ..#.. ##... .#... #.#.# #...# #...# ####.
#...# #...# #...# #...# #.... .#... ....# #...# .#... #.#.. #.#.. .#... #.#.# #...# #...# #....
.#### ####. .###. .#### .###. .#... .###. #...# ###.. .#... #..#. ###.. #.#.# #...# .###. #....
q     r     s     t     u     v     w     x     y     z     {     |     }     ~     ß     æ
..... ..... ..... .#... ..... ..... ..... ..... ..... ..... ..#.. #.... #.... ..... .##.. .....
..... ..... ..... .#... ..... ..... ..... ..... ..... ..... .#... #.... .#... ..... #..#. .....
.#### #.##. .#### ####. #...# #...# #...# #...# #...# ##### .#... #.... .#... .#..# #..#. ##.#.
#...# ##..# #.... .#... #...# #...# #...# .#.#. #...# ...#. #.... #.... ..#.. #.#.# #.#.. ..#.#
.#### #.... .###. .#... #...# #...# #.#.# ..#.. .#### ..#.. .#... #.... .#... #..#. #..#. .####
....# #.... ....# .#..# #..## .#.#. #.#.# .#.#. ....# .#... .#... #.... .#... ..... #...# #.#..
....# #.... ####. ..##. .##.# ..#.. .#.#. #...# .###. ##### ..#.. #.... #.... ..... #.##. .####
Æ     ø     Ø     œ     Œ     ł     Ł     đ     ð     Ð     þ     Þ     ı     €     £     °
.#### ..... .###. ..... .#### ##... .#... ...#. .#.#. .###. #.... #.... ..... ..### ..##. .#...
#.#.. ..... #..## ..... #.#.. .#... .#... ..### ..#.. .#..# #.... ####. ..... .#... .#..# #.#..
#.#.. .###. #..## .#.#. #.#.. .##.. .#.#. ...#. .#.#. .#..# ####. #...# ##... ####. .#... .#...
##### #..## #.#.# #.#.# #.### ##... .##.. .###. .#### ###.# #...# #...# .#... .#... ###.. .....
#.#.. #.#.# ##..# #.### #.#.. .#... ##... #..#. #...# .#..# ####. ####. .#... ####. .#... .....
#.#.. ##..# ##..# #.#.. #.#.. .#... .#... #..#. #...# .#..# #.... #.... .#... .#... .#... .....
#.### .###. .###. .#.## .#### ###.. .#### .###. .###. .###. #.... #.... ###.. ..### ##### .....
·     «     »     ¡     ¿     ×
..... ..... ..... #.... ..#.. .....
..... ..... ..... ..... ..... .....
..... .#.#. #.#.. #.... ..#.. #...#
##... #.#.. .#.#. #.... .#... .#.#.
##... .#.#. #.#.. #.... #.... ..#..
..... ..... ..... #.... #...# .#.#.
..... ..... ..... #.... .###. #...#
"""
_WRITTEN_AS: Final = str.maketrans(
    {
        "\u2018": "'",
        "\u2019": "'",
        "\u201c": '"',
        "\u201d": '"',
        "\u2013": "-",
        "\u2014": "-",
        "\u2026": "...",
        "\u00a0": " ",
    }
)
_MARKS_ABOVE: Final = {
    "\u0300": (".#...", "..#.."),  # grave
    "\u0301": ("...#.", "..#.."),  # acute
    "\u0302": ("..#..", ".#.#."),  # circumflex
    "\u0303": (".#.#.", "#.#.."),  # tilde
    "\u0304": (".###.", "....."),  # macron
    "\u0306": ("#...#", ".###."),  # breve
    "\u0307": ("..#..", "....."),  # dot
    "\u0308": (".#.#.", "....."),  # diaeresis
    "\u030a": (".##..", ".##.."),  # ring
    "\u030b": (".#..#", "#..#."),  # double acute
    "\u030c": (".#.#.", "..#.."),  # caron
}
_MARKS_BELOW: Final = {
    "\u0323": "..#..",  # dot
    "\u0326": "..#..",  # comma
    "\u0327": "..#..",  # cedilla
    "\u0328": "...#.",  # ogonek
}
_EMPTY: Final = "....."
_DOTS_AT_THE_CORNERS: Final = "#...#"  # on Ä and Ö, whose tops are round: there they take one row only
_REMEDY: Final = "write Latin letters, digits and the signs of a keyboard"

Dots = NDArray[np.bool_]


def words_in_dots(words: str) -> Dots:
    """The words, shape (ROWS, columns), from top to bottom, an empty column after each letter but the last.

    Raises PydanticCustomError that names the character for which there is no letter.
    """
    columns: list[Dots] = []
    for place, character in enumerate(unicodedata.normalize("NFC", words)):
        if unicodedata.combining(character) and columns:
            continue  # a mark that makes no letter with the one before
        decomposed = unicodedata.normalize("NFD", character)
        for letter in decomposed[0].translate(_WRITTEN_AS):
            if letter != " " and letter not in _sheet():
                given = {"character": ascii(character), "place": place + 1, "remedy": _REMEDY}
                raise PydanticCustomError(
                    "letter", "there is no letter for {character}, which is character {place} of the words", given
                )
            columns += [_letter(letter, decomposed[1:2]), np.zeros((ROWS, 1), dtype=bool)]
    return np.concatenate(columns[:-1], axis=1)


@cache
def _letter(base: str, mark: str) -> Dots:
    """A letter, as wide as its dots."""
    if base == " ":
        return np.zeros((ROWS, SPACE_COLUMNS), dtype=bool)
    drawn = _sheet()[base]
    marked = _marked(base, drawn, mark) or drawn
    dots = np.array([[dot == "#" for dot in row] for row in marked])
    used = np.flatnonzero(dots.any(axis=0))
    return dots[:, used[0] : used[-1] + 1]


def _marked(base: str, drawn: tuple[str, ...], mark: str) -> tuple[str, ...] | None:
    """The letter with its mark; None without a mark, or where there is no room for it."""
    if base in "ij":  # their dot gives way
        drawn = (_EMPTY, _EMPTY, *drawn[2:])
    width = max(row.rfind("#") for row in drawn) + 1
    centred = tuple(("." * ((5 - width) // 2) + row).ljust(5, ".")[:5] for row in drawn)
    if mark == "\u0308" and base in "AO":
        small = _without_rows(base, centred, 1)
        return small and (_DOTS_AT_THE_CORNERS, *small)
    if mark in _MARKS_ABOVE:
        small = _without_rows(base, centred, 2)
        return small and (*_MARKS_ABOVE[mark], *small)
    if mark in _MARKS_BELOW:
        small = _without_rows(base, centred, 1)
        return small and (*small, _MARKS_BELOW[mark])
    return None


def _without_rows(base: str, drawn: tuple[str, ...], count: int) -> tuple[str, ...] | None:
    """Smaller by `count` rows: without empty ones above, without such as repeat the one above; else None."""
    if not base.isupper():
        return drawn[count:] if all("#" not in row for row in drawn[:count]) else None
    if base == "Z" and count == 2:
        return _sheet()["z"][2:]
    rows = list(drawn)
    for number in range(count):
        repeated = [row for row in range(1, len(rows)) if rows[row] == rows[row - 1]]
        if not repeated:
            return None
        del rows[repeated[-(number % 2)]]  # one from the upper half, one from the lower
    return tuple(rows)


@cache
def _sheet() -> dict[str, tuple[str, ...]]:
    lines = _DRAWN.strip("\n").split("\n")
    letters: dict[str, tuple[str, ...]] = {}
    for top in range(0, len(lines), ROWS + 1):
        rows = lines[top + 1 : top + 1 + ROWS]
        for number, character in enumerate(lines[top][::_CELL]):
            letters[character] = tuple(row[number * _CELL : number * _CELL + 5] for row in rows)
    return letters
