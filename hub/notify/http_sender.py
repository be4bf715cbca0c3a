"""Webhooks and heartbeats: one HTTP request each, bounded in time, redirects not followed, answers not read."""

import asyncio
import base64
import ssl
from collections.abc import Mapping
from functools import cache
from http import HTTPStatus
from typing import Final

import httpx

from hub.notify.notice import Delivered, Failed, Message, Outcome
from hub.notify.signature import content_digest, derived_components, sign

DEADLINE_S: Final = 15.0
"""For all of it: a receiver that sends a byte now and then holds nobody up for longer."""
TAG: Final = "stringcourse-notice"
"""What a signature is for (RFC 9421, section 2.3), so that none serves anywhere else."""
USER_AGENT: Final = "Stringcourse"
MAY_MEND: Final = frozenset({HTTPStatus.REQUEST_TIMEOUT, HTTPStatus.TOO_EARLY, HTTPStatus.TOO_MANY_REQUESTS})


def send_webhook(url: str, key_id: str, signing_key: str, message: Message, now_s: float) -> Outcome:
    """POST `message.document`, signed. `signing_key` is Base64."""
    content = message.document.encode()
    fields = {
        "Content-Type": "application/json",
        "Content-Digest": content_digest(content),
        "Idempotency-Key": f'"{message.key}"',
    }
    request_url = httpx.URL(url)  # as it will go out: what is signed must be what is sent
    components = derived_components("POST", str(request_url)) | {name.lower(): value for name, value in fields.items()}
    parameters: dict[str, str | int] = {"created": int(now_s), "keyid": key_id, "alg": "hmac-sha256", "tag": TAG}
    fields |= sign(components, parameters, base64.b64decode(signing_key))
    return asyncio.run(_request("POST", request_url, fields, content))


def send_heartbeat(url: str) -> Outcome:
    """GET `url`: the hub is well."""
    return asyncio.run(_request("GET", httpx.URL(url), {}, None))


@cache
def _trust() -> ssl.SSLContext:
    """The authorities that this machine trusts; read once, which takes longer than most attempts."""
    return ssl.create_default_context()


async def _request(method: str, url: httpx.URL, fields: Mapping[str, str], content: bytes | None) -> Outcome:
    # A client for each attempt: nothing of one receiver's connection, cookies or proxies bears on another.
    try:
        async with (
            asyncio.timeout(DEADLINE_S),
            httpx.AsyncClient(follow_redirects=False, timeout=DEADLINE_S, trust_env=False, verify=_trust()) as client,
            client.stream(method, url, headers={"User-Agent": USER_AGENT, **fields}, content=content) as response,
        ):
            return _outcome_of(response.status_code)
    except TimeoutError:
        return Failed(f"no answer within {DEADLINE_S:.0f} s")
    except (httpx.HTTPError, httpx.InvalidURL, OSError) as error:
        return Failed(_said_of(error))


def _outcome_of(status: int) -> Outcome:
    if 200 <= status < 300:
        return Delivered()
    if 300 <= status < 400:
        return Failed(
            f"answered {status}, a redirect, which is not followed: state the address it leads to", lasting=True
        )
    lasting = 400 <= status < 500 and status not in MAY_MEND
    return Failed(f"answered {status}", lasting)


def _said_of(error: Exception) -> str:
    """In words that quote nothing: the library's own could hold the address."""
    match error:
        case httpx.TimeoutException():
            return f"no answer within {DEADLINE_S:.0f} s"
        case httpx.ConnectError():
            secured = "CERTIFICATE" in str(error) or "SSL" in str(error)
            return "its certificate or TLS is not accepted" if secured else "no connection: refused, or no such host"
        case httpx.RemoteProtocolError():
            return "it hung up, or does not speak HTTP"
        case _:
            return f"no connection ({type(error).__name__})"
