"""The words of notices: what and where first, then likely cause, next check and cautions. Pure."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from hub.health.digest import Digest
from hub.health.models import Finding
from hub.health.view import view_of
from hub.notify.models import MAX_SUBJECT
from hub.notify.notice import About, Message

MAX_MEMBERS_NAMED: Final = 20
MAX_ROWS_TOLD: Final = 20


@dataclass(frozen=True, slots=True)
class Teller:
    """Who speaks: a venue of this hub, and where its page is."""

    venue: str
    title: str
    time_zone: ZoneInfo
    page: str | None
    """Such as http://192.0.2.10:8460."""


def opened_message(key: str, finding: Finding, members: Sequence[Finding], teller: Teller, now_ms: int) -> Message:
    """Something is wrong."""
    lines = [
        f"{teller.title}: {finding.message}",
        "",
        f"Since: {_clock(finding.started_at_ms, teller)}",
        *([f"Likely cause: {finding.likely_cause}"] if finding.likely_cause else []),
        f"Next check: {finding.next_check}",
        *(f"Caution: {caution}" for caution in json.loads(finding.cautions)),
    ]
    # One node can have several findings under a cause: one of its faults brings others with it.
    nodes = list(dict.fromkeys(member.node for member in members if member.node is not None))
    if finding.cause is None:
        lines += [f"Brings with it: {', '.join(dict.fromkeys(member.kind for member in members))}"] if members else []
    elif nodes:
        more = f" and {len(nodes) - MAX_MEMBERS_NAMED} more" if len(nodes) > MAX_MEMBERS_NAMED else ""
        lines.append(f"Stands for {len(nodes)} nodes: {', '.join(nodes[:MAX_MEMBERS_NAMED])}{more}")
    subject = f"{finding.severity.value.capitalize()}: {finding.message}"
    return _message(key, About.OPENED, subject, lines, teller, now_ms, _shown(finding, members), finding.id)


def ended_message(key: str, finding: Finding, members: Sequence[Finding], teller: Teller, now_ms: int) -> Message:
    """It is over; or, of one that stood for several, its members stand alone again."""
    if finding.cause is not None and not members:
        subject = f"Not one cause after all: {finding.message}"
        rest = f"Not all that share it have it ({finding.cause}). What is still wrong is told by itself."
    else:
        subject = f"Over: {finding.message}"
        rest = f"Began: {_clock(finding.started_at_ms, teller)}"
    ended_ms = finding.ended_at_ms if finding.ended_at_ms is not None else now_ms
    lines = [f"{teller.title}: {subject}", "", rest, f"Ended: {_clock(ended_ms, teller)}"]
    return _message(key, About.ENDED, subject, lines, teller, now_ms, _shown(finding, members), finding.id)


def digest_message(key: str, digest: Digest, teller: Teller, now_ms: int) -> Message:
    """What a day was like."""
    spell = f"{_clock(digest.from_ms, teller)} to {_clock(digest.until_ms, teller)}"
    lines = [f"{teller.title}: {spell}", "", *digest.sentences, ""]
    for row in digest.rows[:MAX_ROWS_TOLD]:
        lines += [f"{row.severity.value}, {row.state.value}: {row.message}", f"  Next check: {row.next_check}"]
    if len(digest.rows) > MAX_ROWS_TOLD:
        lines.append("More stand on the page.")
    subject = f"Digest: {digest.still_open} still open, {digest.opened} opened, {digest.ended} ended"
    return _message(key, About.DIGEST, subject, lines, teller, now_ms, {"digest": digest.model_dump(mode="json")})


def trial_message(key: str, destination_title: str, teller: Teller, now_ms: int) -> Message:
    """What a destination gets when somebody tries it."""
    lines = [f"{teller.title}: this is a test message to {destination_title}.", "", "Nothing is wrong."]
    return _message(key, About.TEST, "Test: nothing is wrong", lines, teller, now_ms, {})


def _shown(finding: Finding, members: Sequence[Finding]) -> dict[str, object]:
    view = view_of(finding, [member.id or 0 for member in members])
    return {"finding": view.model_dump(mode="json")}


def _message(
    key: str,
    about: About,
    subject: str,
    lines: Sequence[str],
    teller: Teller,
    now_ms: int,
    shown: Mapping[str, object],
    finding: int | None = None,
) -> Message:
    link = _link(teller, finding)
    subject = subject[:MAX_SUBJECT]
    text = "\n".join([*lines, *([] if link is None else ["", link])])
    document = {
        "id": key,
        "about": about.value,
        "venue": {"id": teller.venue, "title": teller.title},
        "made_at_ms": now_ms,
        "subject": subject,
        "text": text,
        "link": link,
        **shown,
    }
    return Message(key, subject, text, json.dumps(document))


def _link(teller: Teller, finding: int | None) -> str | None:
    """The page's place for it, as the page writes its addresses."""
    if teller.page is None:
        return None
    place = {"venue": teller.venue, "finding": "" if finding is None else str(finding)}
    return f"{teller.page}/#{urlencode(place)}"


def _clock(at_ms: int, teller: Teller) -> str:
    local = datetime.fromtimestamp(at_ms / 1_000, teller.time_zone)
    return f"{local:%Y-%m-%d %H:%M:%S} ({teller.time_zone.key})"
