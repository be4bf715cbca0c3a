"""Mail, chat and the rest by the apprise library, held to URLs that make network calls and to one attempt at a time.

The library is imported when it is first needed: it takes a second or two and 50 MB, and most hubs have no use for it.
"""

import re
import threading
from collections.abc import Sized
from types import ModuleType
from typing import Any, Final
from urllib.parse import parse_qsl, unquote

from hub.errors import Mistake
from hub.notify.notice import Delivered, Failed, Message, Outcome

FILE_ARGUMENT: Final = re.compile(r"(?:Template|Key) Path$|File$")
"""How the library's own descriptions name arguments that are read from this machine's disk."""
THIS_MACHINE: Final = "{schema}://"
"""A service whose URL need name nothing is on this machine: its log, its desktop, what is plugged into it."""
LONGEST_WAIT_S: Final = 15.0
SHORTEST_SECRET: Final = 3
MAX_REASON: Final = 300
MAX_SCHEMA: Final = 40

_loading = threading.Lock()


class UnusableUrlError(Exception):
    """The library has no use for a URL, or this hub does not let it. `mistake` quotes nothing of the URL's secrets."""

    def __init__(self, reason: str, remedy: str) -> None:
        super().__init__(reason)
        self.mistake = Mistake("body.url", reason, remedy)


def apprise_service(url: str) -> Any:  # noqa: ANN401 (the library publishes no types)
    """The library's service for `url`, bounded: no redirects, no attempts of its own, no file of this machine.

    Raises UnusableUrlError.
    """
    apprise = _library()
    schema = url.partition("://")[0].lower()[:MAX_SCHEMA]
    services = apprise.manager_plugins.NotificationManager()
    if schema not in services or not services[schema].enabled:
        raise UnusableUrlError(
            f"{schema!r} is no service that the apprise library reaches from here",
            "see that library's list of services",
        )
    described = services[schema]
    if THIS_MACHINE in described.templates:
        raise UnusableUrlError(f"{schema!r} makes no network call", "choose a service that is reached by the network")
    files = {name for name, about in described.template_args.items() if FILE_ARGUMENT.search(str(about.get("name")))}
    if files & {name.lower() for name, _ in parse_qsl(url.partition("?")[2], keep_blank_values=True)}:
        raise UnusableUrlError(
            f"it names a file of this machine ({', '.join(sorted(files))})", "leave that out: no file is read"
        )
    asset = apprise.AppriseAsset(
        app_id="Stringcourse",
        app_desc="Stringcourse hub",
        app_url="",
        image_url_mask="",
        storage_mode="memory",
        pgp_autogen=False,
        pem_autogen=False,
        http_redirects=False,
        interpret_emojis=False,
        async_mode=False,
        service_timeout=0,
    )
    try:
        service = apprise.Apprise.instantiate(url, asset=asset, suppress_exceptions=False)
    except Exception as error:  # the library's services raise what they like
        raise UnusableUrlError(f"{schema!r} cannot read it", "see the library's form of its URL") from error
    if service is None:
        raise UnusableUrlError(f"it is not in the form that {schema!r} takes", "see the library's form of its URL")
    if _holds_attachment(service, apprise.AppriseAttachment):
        raise UnusableUrlError("it names a file of this machine", "leave that out: no file is read")
    service.redirects, service.retry = False, 0
    service.socket_connect_timeout = min(service.socket_connect_timeout or LONGEST_WAIT_S, LONGEST_WAIT_S)
    service.socket_read_timeout = min(service.socket_read_timeout or LONGEST_WAIT_S, LONGEST_WAIT_S)
    return service


def send_by_apprise(url: str, message: Message) -> Outcome:
    """One attempt. Why it failed is what the library said, without anything out of the URL."""
    try:
        service = apprise_service(url)
    except UnusableUrlError as error:
        return Failed(error.mistake.reason, lasting=True)
    sender = _library().Apprise()
    sender.add(service)
    text = f"{message.text}\n\nNotice {message.key}"
    result = sender.notify(body=text, title=message.subject, body_format="text")
    if result:
        return Delivered()
    said = [entry.message for one in result.results for entry in one.logs()]
    return Failed(_without_secrets(said[-1] if said else "the service did not take it", url))


def _library() -> ModuleType:
    with _loading:
        import apprise
        import apprise.manager_plugins

        loaded: ModuleType = apprise
    return loaded


def _holds_attachment(service: object, attachment: type[Sized]) -> bool:
    """Whether a service, or what it is made of, was given a file to read."""
    own = [value for value in vars(service).values() if hasattr(value, "__dict__") and not isinstance(value, type)]
    inner = [value for one in own if type(one).__module__.startswith("apprise.utils") for value in vars(one).values()]
    return any(isinstance(value, attachment) and len(value) > 0 for value in (*own, *inner))


def _without_secrets(reason: str, url: str) -> str:
    """`reason` in printable characters, with whatever of it stands in the URL after the scheme taken out."""
    parts = re.split(r"[/?&=@:,;+ ]+", url.partition("://")[2])
    secrets = {form for part in parts for form in (part, unquote(part)) if len(form) >= SHORTEST_SECRET}
    for secret in sorted(secrets, key=len, reverse=True):
        reason = reason.replace(secret, "…")
    return "".join(character if character.isprintable() else " " for character in reason)[:MAX_REASON]
