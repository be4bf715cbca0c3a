"""Signatures against RFC 9421 and RFC 9530, and against another implementation."""

import base64
from types import SimpleNamespace
from typing import Any

import pytest
from http_message_signatures import HTTPSignatureComponentResolver
from hypothesis import given
from hypothesis import strategies as st

from hub.notify.signature import content_digest, derived_components, sign

# RFC 9421, appendix B.1.5: the test-shared-secret.
SHARED_SECRET = base64.b64decode(
    "uzvJfB4u3N0Jy4T7NZ75MDVcr8zSTInedJtkgcu46YW4XByzNJjxBdtjUkdJPBtbmHhIDi6pcl8jsasjlTMtDQ=="
)


def test_signature_of_rfc_9421_b_2_5() -> None:
    components = {
        "date": "Tue, 20 Apr 2021 02:07:55 GMT",
        "@authority": "example.com",
        "content-type": "application/json",
    }
    fields = sign(components, {"created": 1618884473, "keyid": "test-shared-secret"}, SHARED_SECRET, label="sig-b25")
    assert fields == {
        "Signature-Input": 'sig-b25=("date" "@authority" "content-type");created=1618884473;keyid="test-shared-secret"',
        "Signature": "sig-b25=:pxcQw6G3AjtMBQjwo8XzkZf/bws5LelbaMk5rGIGtE8=:",
    }


def test_content_digest_of_rfc_9530_appendix_b_1() -> None:
    digest = "sha-256=:RK/0qy18MlBSVnWgjwz6lZEWjP/lF5HF9bvEF8FabDg=:"
    assert content_digest(b'{"hello": "world"}\n') == digest


@pytest.mark.parametrize(
    ("url", "authority", "path", "query"),
    [
        # RFC 9421, 2.2.3, 2.2.6 and 2.2.7: default ports and letter case go, an empty path is /, no query is ?.
        ("https://WWW.example.com:443/path?param=value", "www.example.com", "/path", "?param=value"),
        ("http://www.example.com:80", "www.example.com", "/", "?"),
        ("https://www.example.com:8443/a/b", "www.example.com:8443", "/a/b", "?"),
        ("http://[2001:DB8::1]:8080/p?", "[2001:db8::1]:8080", "/p", "?"),
    ],
)
def test_components_that_a_request_has_without_a_field(url: str, authority: str, path: str, query: str) -> None:
    expected = {"@method": "POST", "@authority": authority, "@path": path, "@query": query}
    assert derived_components("POST", url) == expected


SAFE = st.text("abcdefgh0123456789-._~%20"[:22], min_size=1, max_size=8)


@given(
    host=st.from_regex(r"\A[a-z][a-z0-9]{0,8}(\.[a-z]{2,5})?\Z"),
    port=st.one_of(st.none(), st.integers(1, 65_535)),
    path=st.lists(SAFE, max_size=3),
    query=st.lists(st.tuples(SAFE, SAFE), max_size=3),
    scheme=st.sampled_from(["http", "https"]),
)
def test_components_are_those_of_another_implementation(
    host: str, port: int | None, path: list[str], query: list[tuple[str, str]], scheme: str
) -> None:
    shown_query = "?" + "&".join(f"{name}={value}" for name, value in query) if query else ""
    url = f"{scheme}://{host}{'' if port is None else f':{port}'}/{'/'.join(path)}{shown_query}"
    message = SimpleNamespace(method="POST", url=url, headers={})
    other: Any = HTTPSignatureComponentResolver(message)  # type: ignore[no-untyped-call]
    expected = {
        "@method": other.get_method(),
        "@authority": other.get_authority(),
        "@path": other.get_path(),
        "@query": other.get_query(),
    }
    assert derived_components("POST", url) == expected
