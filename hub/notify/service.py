"""Who is told: destinations added, changed and tested; notices looked at, sent again and dropped."""

import base64
import hashlib
import json
import secrets
import threading
import time
from collections.abc import Callable, Iterable
from typing import Final, Protocol

from sqlalchemy import Engine
from sqlalchemy.exc import IntegrityError

from hub.api.etag import Precondition, etag_of
from hub.errors import ConflictError, InvalidError, Mistake, UnavailableError
from hub.health.digest import Digest
from hub.notify.address import check_url, shown_address
from hub.notify.destination import (
    MAX_DESTINATIONS,
    DestinationKind,
    DestinationSettings,
    NewDestination,
    Route,
    check_purpose,
)
from hub.notify.digests import DigestMaker
from hub.notify.making import ChangeSource, NoticeMaker, Settling
from hub.notify.models import Destination
from hub.notify.notice import Delivered, NoticeState
from hub.notify.notifier import Notifier
from hub.notify.outbox import Outbox
from hub.notify.sending import key_id_of, send
from hub.notify.view import (
    ROUTES,
    Destinations,
    DestinationView,
    MadeDestination,
    NoticeView,
    SigningKey,
    Tested,
    view_of_destination,
    view_of_notice,
)
from hub.notify.words import trial_message
from hub.rollout import VenueSource

SIGNING_KEY_BYTES: Final = 32
TESTS_AT_ONCE: Final = 4


class FindingSource(ChangeSource, Protocol):
    """What notification needs of the findings."""

    def digest(self, venue: str, from_ms: int, until_ms: int) -> Digest: ...


class NotifyService:
    """Asked from any thread but the fleet loop's; what it does by itself is on threads of its own."""

    def __init__(
        self,
        engine: Engine,
        inventory: VenueSource,
        findings: FindingSource,
        well: Callable[[], bool],
        clock: Callable[[], float] = time.time,
        settling: Settling | None = None,
    ) -> None:
        self._outbox = Outbox(engine)
        self._inventory = inventory
        self._maker = NoticeMaker(engine, findings, inventory, settling)
        digests = DigestMaker(self._outbox, findings.digest, self._maker.teller)
        self._notifier = Notifier(self._outbox, self._maker, digests, well, clock)
        self._clock = clock
        self._testing = threading.Semaphore(TESTS_AT_ONCE)

    def page_is_at(self, address: str) -> None:
        """Where notices say that the page is, such as http://192.0.2.10:8460."""
        self._maker.page = address

    def start(self) -> None:
        self._notifier.start()

    def stop(self) -> None:
        self._notifier.stop()

    def destinations(self, venue: str) -> Destinations:
        """As every call that names a venue: raises NotFoundError for one that is not there."""
        self._inventory.venue(venue)
        counts = self._outbox.counts(venue)
        found = self._outbox.destinations(venue)
        return Destinations(items=[view_of_destination(row, *counts.get(row.id, (0, 0))) for row in found])

    def destination(self, venue: str, destination: str) -> tuple[DestinationView, str]:
        """With its ETag. Raises NotFoundError."""
        self._inventory.venue(venue)
        row = self._outbox.destination(venue, destination)
        return self._view(row), _etag(row)

    def add(self, venue: str, wanted: NewDestination) -> MadeDestination:
        """Raises InvalidError, and ConflictError where the id is taken or the venue has as many as it may."""
        self._check_zones(venue, wanted.routes_meant)
        check_url(wanted.kind, wanted.url)
        webhook = wanted.kind is DestinationKind.WEBHOOK
        key = base64.b64encode(secrets.token_bytes(SIGNING_KEY_BYTES)).decode() if webhook else None
        row = Destination(
            venue=venue,
            id=wanted.id,
            title=wanted.title,
            kind=wanted.kind,
            url=wanted.url,
            shown_address=shown_address(wanted.url),
            signing_key=key,
            routes=_document(wanted.routes_meant),
            digest_at=wanted.digest_at,
            made_at_ms=self._now_ms(),
        )
        present = self._outbox.destinations(venue)
        if len(present) >= MAX_DESTINATIONS:
            raise ConflictError(
                f"the venue has {MAX_DESTINATIONS} destinations, which is as many as may be; remove one"
            )
        try:
            self._outbox.add(row)
        except IntegrityError as error:
            raise ConflictError(f"there is a destination {wanted.id!r} already; choose another id") from error
        self._notifier.wake()
        signing_key = None if key is None else SigningKey(key_id=key_id_of(row), key=key)
        return MadeDestination(destination=self._view(row), signing_key=signing_key)

    def change(
        self, venue: str, destination: str, wanted: DestinationSettings, precondition: Precondition
    ) -> tuple[DestinationView, str]:
        """As it is then, with its ETag. Raises NotFoundError, InvalidError, and what `Precondition.check` does."""
        self._inventory.venue(venue)
        row = self._outbox.destination(venue, destination)
        kind = DestinationKind(row.kind)
        try:
            check_purpose(kind, wanted.routes, wanted.digest_at)
        except ValueError as error:
            raise InvalidError(
                "the destination would be of no use", [Mistake("body.routes", str(error), "see its kind")]
            ) from error
        self._check_zones(venue, wanted.routes)
        if wanted.url is not None:
            check_url(kind, wanted.url)

        def rewrite(present: Destination) -> None:
            precondition.check(_etag(present))
            present.title, present.routes, present.digest_at = wanted.title, _document(wanted.routes), wanted.digest_at
            if wanted.url is not None:
                present.url, present.shown_address = wanted.url, shown_address(wanted.url)

        row = self._outbox.rewrite(venue, destination, rewrite)
        self._notifier.wake()
        return self._view(row), _etag(row)

    def remove(self, venue: str, destination: str) -> None:
        """Raises NotFoundError."""
        self._inventory.venue(venue)
        self._outbox.remove(venue, destination)

    def test(self, venue: str, destination: str) -> Tested:
        """One attempt, at once. Raises NotFoundError, UnavailableError while others are being tested."""
        teller = self._maker.teller(venue)
        row = self._outbox.destination(venue, destination)
        if not self._testing.acquire(blocking=False):
            raise UnavailableError("other destinations are being tested; try again in half a minute")
        try:
            began_s = time.monotonic()
            heartbeat = row.kind == DestinationKind.HEARTBEAT
            message = None if heartbeat else trial_message(secrets.token_hex(16), row.title, teller, self._now_ms())
            outcome = send(row, message)
            took_ms = round((time.monotonic() - began_s) * 1_000)
        finally:
            self._testing.release()
        self._outbox.settle_apart((venue, destination), outcome, self._now_ms())
        delivered = isinstance(outcome, Delivered)
        said = "it was taken; look whether it arrived" if isinstance(outcome, Delivered) else outcome.reason
        return Tested(delivered=delivered, said=said, took_ms=took_ms)

    def notices(
        self, venue: str, state: NoticeState | None, destination: str | None, after_id: int | None, limit: int
    ) -> list[NoticeView]:
        """At most `limit`, newest first, after the one whose id is `after_id`."""
        self._inventory.venue(venue)
        return [view_of_notice(row) for row in self._outbox.notices(venue, state, destination, after_id, limit)]

    def resend(self, venue: str, notice: int) -> NoticeView:
        """Raises NotFoundError, and ConflictError for what was delivered or dropped."""
        self._inventory.venue(venue)
        row = self._outbox.resend(venue, notice, self._now_ms())
        self._notifier.wake()
        return view_of_notice(row)

    def drop(self, venue: str, notice: int) -> None:
        """Raises NotFoundError, and ConflictError for what was delivered or dropped."""
        self._inventory.venue(venue)
        self._outbox.drop(venue, notice, self._now_ms())

    def _view(self, row: Destination) -> DestinationView:
        return view_of_destination(row, *self._outbox.counts(row.venue).get(row.id, (0, 0)))

    def _check_zones(self, venue: str, routes: Iterable[Route]) -> None:
        known = {zone.id for zone in self._inventory.venue(venue).zones}
        mistakes = [
            Mistake(f"body.routes[{place}].zones", f"the venue has no zone {zone!r}", "name zones of the venue")
            for place, route in enumerate(routes)
            for zone in route.zones
            if zone not in known
        ]
        if mistakes:
            raise InvalidError("a route names zones that the venue does not have", mistakes)

    def _now_ms(self) -> int:
        return round(self._clock() * 1_000)


def _document(routes: Iterable[Route]) -> str:
    return json.dumps([route.model_dump(mode="json") for route in routes])


def _etag(row: Destination) -> str:
    """Of what can be changed; of the URL only whether it is the same."""
    settings = DestinationSettings(title=row.title, routes=ROUTES.validate_json(row.routes), digest_at=row.digest_at)
    of_url = hashlib.sha256(row.url.encode()).hexdigest()
    return etag_of(settings.model_copy(update={"url": of_url}))
