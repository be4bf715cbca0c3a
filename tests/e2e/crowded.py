"""A venue of a thousand supplies, with wiring at fault and a title that would be markup."""

from typing import Any, Final

from tests.hub.desired.venues import row_document

SUPPLIES: Final = 1_000
HOSTILE: Final = '<img src=x onerror="document.title=1"><b>Tea & "buns"</b>'
"""As a title it must be read as it stands."""
LONG_RUN: Final = 300


def crowded_document() -> dict[str, Any]:
    """`psu-bay-0001` and `psu-bay-0002` share the first run, of which the cut stands in the middle; the wire at its
    start is too thin for the run, its fuse too large for the wire. `bay-0003`'s run joins two supplies."""
    document = row_document(nodes=SUPPLIES, pixels=20) | {"id": "crowded", "title": "A crowded invented row"}
    first, second, third = (node["channels"] for node in document["nodes"][:3])
    document["supplies"][0] |= {"title": HOSTILE, "rated_a": 40.0, "sharing": "by-need"}
    document["nodes"][0]["title"] = HOSTILE
    first[0]["run"] |= {
        "pixels": LONG_RUN,
        "pixels_per_m": 60.0,
        "positive_cut_before": [LONG_RUN // 2],
        "feeds": [
            {"supply": "psu-bay-0001", "at_pixel": 0, "wire_mm2": 0.5, "length_m": 4.0, "fuse_a": 30.0},
            {"supply": "psu-bay-0002", "at_pixel": LONG_RUN - 1, "wire_mm2": 2.5, "length_m": 2.0, "fuse_a": 5.0},
        ],
    }
    document["zones"][0]["spans"][0]["pixels"] = LONG_RUN
    second[0]["run"]["feeds"] = [{"supply": "psu-bay-0001", "wire_mm2": 1.5, "length_m": 3.0, "fuse_a": 5.0}]
    third[0]["run"]["feeds"] = [
        {"supply": "psu-bay-0003", "at_pixel": 0, "wire_mm2": 0.75, "length_m": 1.0, "fuse_a": 2.0},
        {"supply": "psu-bay-0004", "at_pixel": 19, "wire_mm2": 0.75, "length_m": 1.0, "fuse_a": 2.0},
    ]
    return document
