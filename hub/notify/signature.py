"""HTTP message signatures (RFC 9421) with hmac-sha256, and digests of content (RFC 9530). Pure.

Only what a request needs that one signer makes: plain components without parameters of their own.
"""

import base64
import hashlib
import hmac
from collections.abc import Mapping
from urllib.parse import urlsplit


def content_digest(content: bytes) -> str:
    """The value of `Content-Digest`: sha-256 as a byte sequence of RFC 9651."""
    return f"sha-256={_byte_sequence(hashlib.sha256(content).digest())}"


def derived_components(method: str, url: str) -> dict[str, str]:
    """`@method`, `@authority`, `@path` and `@query` of a request (RFC 9421, section 2.2)."""
    parts = urlsplit(url)
    usual_port = {"http": 80, "https": 443}.get(parts.scheme)
    host = (parts.hostname or "").lower()
    shown_host = f"[{host}]" if ":" in host else host
    authority = shown_host if parts.port in (None, usual_port) else f"{shown_host}:{parts.port}"
    return {"@method": method, "@authority": authority, "@path": parts.path or "/", "@query": f"?{parts.query}"}


def sign(
    components: Mapping[str, str], parameters: Mapping[str, str | int], key: bytes, label: str = "hub"
) -> dict[str, str]:
    """The fields `Signature-Input` and `Signature` over `components`, by their names in lower case, in their order.

    Section 2.5 builds the base that section 3.3.3 signs. `parameters` such as created and keyid stand in their order.
    """
    covered = " ".join(_string(name) for name in components)
    stated = "".join(
        f";{name}={value if isinstance(value, int) else _string(value)}" for name, value in parameters.items()
    )
    signature_parameters = f"({covered}){stated}"
    lines = [f"{_string(name)}: {value}" for name, value in components.items()]
    base = "\n".join([*lines, f'"@signature-params": {signature_parameters}'])
    signature = hmac.digest(key, base.encode("ascii"), "sha256")
    return {
        "Signature-Input": f"{label}={signature_parameters}",
        "Signature": f"{label}={_byte_sequence(signature)}",
    }


def _string(value: str) -> str:
    escaped = value.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _byte_sequence(value: bytes) -> str:
    return f":{base64.b64encode(value).decode()}:"
