"""Payloads that no honest peer sends: each is refused with a validation error, and none brings the process down."""

import json

import pytest
from pydantic import BaseModel, ValidationError

from tests.schemas.examples import EXAMPLES

CONTRACTS = sorted({contract for contract, _ in EXAMPLES.values()}, key=lambda contract: contract.__name__)
MEBIBYTE = 1024 * 1024

HOSTILE = {
    "nothing": b"",
    "white space": b" \n",
    "NUL": b"\0",
    "null": b"null",
    "true": b"true",
    "number": b"7",
    "text": b'"text"',
    "list": b"[]",
    "empty object": b"{}",
    "cut off": b'{"schema_version": 1, "revision":',
    "trailing comma": b'{"revision": 1,}',
    "two documents": b"{}{}",
    "comment": b"{/* no */}",
    "single quotes": b"{'revision': 1}",
    "not UTF-8": b'{"revision": "\xff\xfe"}',
    "UTF-16": '{"revision": 1}'.encode("utf-16"),
    "byte order mark": b"\xef\xbb\xbf{}",
    "lone surrogate": b'{"venue": "\\ud800"}',
    "deep lists": b"[" * 200_000 + b"]" * 200_000,
    "deep objects": b'{"a":' * 200_000 + b"1" + b"}" * 200_000,
    "deep and never closed": b"[" * 1_000_000,
    "deep inside a field": b'{"body":' + b'{"zones":[' * 50_000,
    "huge text": b'{"venue": "' + b"a" * (8 * MEBIBYTE) + b'"}',
    "huge key": b'{"' + b"a" * (8 * MEBIBYTE) + b'": 1}',
    "many keys": b"{" + b",".join(b'"k%d":1' % number for number in range(100_000)) + b"}",
    "many items": b'{"layers": [' + b",".join([b"1"] * 1_000_000) + b"]}",
    "huge integer": b'{"revision": ' + b"9" * 100_000 + b"}",
    "huge exponent": b'{"revision": 1e999999999}',
    "NaN": b'{"revision": NaN}',
    "infinity": b'{"revision": -Infinity}',
    "minus zero": b'{"revision": -0}',
    "binary": bytes(range(256)) * 64,
}


@pytest.mark.parametrize("contract", CONTRACTS, ids=lambda contract: contract.__name__)
@pytest.mark.parametrize("payload", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_payload_is_refused(contract: type[BaseModel], payload: bytes) -> None:
    with pytest.raises(ValidationError):
        contract.model_validate_json(payload)


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_payload_cut_off_anywhere_is_refused(name: str) -> None:
    contract, document = EXAMPLES[name]
    payload = json.dumps(document).encode()
    for length in range(0, len(payload), max(1, len(payload) // 200)):
        with pytest.raises(ValidationError):
            contract.model_validate_json(payload[:length])


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_refusal_does_not_grow_with_the_payload(name: str) -> None:
    """What is logged of a refusal must stay small, however large the payload was."""
    contract, _ = EXAMPLES[name]
    with pytest.raises(ValidationError) as refused:
        contract.model_validate_json(HOSTILE["huge text"])
    assert len(str(refused.value)) < 10_000
