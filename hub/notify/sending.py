"""One attempt to deliver, by the destination's kind."""

import logging
import time

from hub.notify.apprise_sender import send_by_apprise
from hub.notify.destination import DestinationKind
from hub.notify.http_sender import send_heartbeat, send_webhook
from hub.notify.models import Destination
from hub.notify.notice import Failed, Message, Outcome

# They log addresses, and what receivers answer; of an attempt the hub keeps the outcome.
for _talks in ("apprise", "httpcore", "httpx", "urllib3"):
    logging.getLogger(_talks).setLevel(logging.WARNING)
    logging.getLogger(_talks).propagate = False
    logging.getLogger(_talks).addHandler(logging.NullHandler())

log = logging.getLogger(__name__)


def send(destination: Destination, message: Message | None) -> Outcome:
    """Blocks for up to half a minute; raises nothing. None is a heartbeat."""
    try:
        if message is None:
            return send_heartbeat(destination.url)
        if destination.kind == DestinationKind.WEBHOOK and destination.signing_key is not None:
            return send_webhook(destination.url, key_id_of(destination), destination.signing_key, message, time.time())
        return send_by_apprise(destination.url, message)
    except Exception as error:
        # Neither its words nor its traceback: both can hold the address.
        log.error("an attempt to deliver failed venue=%s destination=%s error=%s", destination.venue, destination.id,
                  type(error).__name__)  # fmt: skip
        return Failed(f"the attempt failed in a way nobody foresaw ({type(error).__name__})")


def key_id_of(destination: Destination) -> str:
    """What receivers know a destination's signing key by."""
    return f"{destination.venue}/{destination.id}"
