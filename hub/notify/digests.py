"""The daily digest: made once a day for each destination that wants one, at its time by the venue's clock."""

import secrets
from collections.abc import Callable

from hub.errors import NotFoundError
from hub.health.digest import Digest
from hub.notify.hours import DAY, last_time_of_day, time_of_day_ms
from hub.notify.models import Destination
from hub.notify.outbox import Outbox
from hub.notify.words import Teller, digest_message


class DigestMaker:
    """A hub that was down at the time makes the digest late, and only the newest. From one thread.

    `digest(venue, from_ms, until_ms)`; `teller(venue)` raises NotFoundError.
    """

    def __init__(
        self, outbox: Outbox, digest: Callable[[str, int, int], Digest], teller: Callable[[str], Teller]
    ) -> None:
        self._outbox = outbox
        self._digest = digest
        self._teller = teller

    def make(self, destination: Destination, now_ms: int) -> None:
        """The notice of the day that ended last, unless it is there already."""
        if destination.digest_at is None:
            return
        try:
            teller = self._teller(destination.venue)
        except NotFoundError:
            return  # nobody looks after the venue any more
        day, until_ms = last_time_of_day(destination.digest_at, now_ms, teller.time_zone)
        already = destination.digested_day is not None and destination.digested_day >= day.isoformat()
        if already or until_ms < destination.made_at_ms:
            return
        from_ms = time_of_day_ms(day - DAY, destination.digest_at, teller.time_zone)
        found = self._digest(destination.venue, from_ms, until_ms)
        message = digest_message(secrets.token_hex(16), found, teller, now_ms)
        self._outbox.add_digest(destination, day.isoformat(), message, now_ms)
