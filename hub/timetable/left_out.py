"""Entries that stay out of the compiled timetable: nothing flashes unattended that no check and nobody answers for."""

from collections.abc import Collection, Iterable, Mapping

from schemas.timetable import TimetableEntry


def left_out_entries(
    timetable: Iterable[TimetableEntry], failing: Mapping[str, str], unchecked: Collection[str]
) -> dict[str, str]:
    """Ids of entries to leave out, each with the reason and what to do.

    `failing` are scenes that fail the flash check, with what it says in a sentence; `unchecked` those that it has not
    seen yet. An entry that names who confirms its flashes stays in.
    """
    found: dict[str, str] = {}
    for entry in timetable:
        if entry.scene is None or entry.flash_confirmed_by is not None:
            continue
        if entry.scene in failing:
            found[entry.id] = (
                f"scene {entry.scene!r} {failing[entry.scene]}; change the scene, or let the entry name who confirms "
                "that it may flash (flash_confirmed_by)"
            )
        elif entry.scene in unchecked:
            found[entry.id] = f"scene {entry.scene!r} is being checked for flashes; once it passes the entry counts"
    return found
