"""The wire contract as one AsyncAPI 3 document: every topic, who sends it, at which quality of service, with what."""

from dataclasses import dataclass
from typing import Any, Final

from schemas.ask import Answer, Ask
from schemas.contract import Contract
from schemas.desired import Desired
from schemas.grant import Grant
from schemas.messages import Presence, Reported, Take, Telemetry
from schemas.topics import ROOT, Leaf

ASYNCAPI_VERSION: Final = "3.0.0"
CONTRACT_VERSION: Final = "1.0.0"
_MQTT_BINDING: Final = "0.2.0"
_ID_DESCRIPTION: Final = "Lower-case letters, digits and inner hyphens, 1 to 40 characters."


@dataclass(frozen=True, slots=True)
class _Wire:
    """One topic of the contract: `sender` publishes at `qos`, the other side subscribes at QoS 0."""

    name: str
    address: str
    sender: str
    qos: int
    retain: bool
    payload: type[Contract]
    summary: str


def _leaf(
    leaf: Leaf, sender: str, payload: type[Contract], summary: str, *, qos: int = 1, retain: bool = False
) -> _Wire:
    return _Wire(leaf.value, f"{ROOT}/{{venue}}/node/{{node}}/{leaf.value}", sender, qos, retain, payload, summary)


WIRES: Final = (
    _leaf(Leaf.DESIRED, "hub", Desired, "The whole desired state of a node.", retain=True),
    _leaf(Leaf.REPORTED, "node", Reported, "What a node holds and shows, or why it refused.", retain=True),
    _leaf(Leaf.PRESENCE, "node", Presence, "Birth, and death by last will or on leaving.", retain=True),
    _leaf(Leaf.TELEMETRY, "node", Telemetry, "How a node is doing: frames, amps, limiter, clock.", qos=0),
    _leaf(Leaf.ASK, "hub", Ask, "A question to one node, with a correlation token and an expiry."),
    _leaf(Leaf.ANSWER, "node", Answer, "A node's answer, with its question's correlation token."),
    _leaf(Leaf.GRANT, "hub", Grant, "The amps of each supply that a node may draw, until the next.", retain=True),
    _Wire("take", f"{ROOT}/{{venue}}/all/take", "hub", 1, False, Take, "Makes every node change at one show time."),
)


def asyncapi_document(schema_files: dict[type[Contract], str]) -> dict[str, Any]:
    """The document, with each payload referring to its file in `schema_files` beside it.

    Raises KeyError for a payload that has no file.
    """
    return {
        "asyncapi": ASYNCAPI_VERSION,
        "id": "urn:stringcourse:wire:v1",
        "info": {
            "title": "Stringcourse wire contract",
            "version": CONTRACT_VERSION,
            "description": (
                "What hub and nodes say to each other over MQTT 3.1.1. The state is level-triggered: a document that "
                "arrives twice is harmless, and one that is lost is repaired by comparing `reported` with `desired`. "
                "A node may publish and read only its own topics and read `all/`."
            ),
            "license": {"name": "Apache-2.0"},
        },
        "defaultContentType": "application/json",
        "servers": {
            "broker": {
                "host": "{host}",
                "variables": {"host": {"default": "localhost:1883", "description": "Host and port of the broker."}},
                "protocol": "mqtt",
                "protocolVersion": "3.1.1",
                "description": "The broker that the hub brings, or one of the user's own.",
                "security": [{"$ref": "#/components/securitySchemes/nodeCredential"}],
            }
        },
        "channels": {wire.name: _channel(wire) for wire in WIRES},
        "operations": {name: operation for wire in WIRES for name, operation in _operations(wire)},
        "components": {
            "messages": {wire.name: _message(wire, schema_files[wire.payload]) for wire in WIRES},
            "securitySchemes": {
                "nodeCredential": {
                    "type": "userPassword",
                    "description": "Each node has its own; it opens that node's topics and no other's.",
                }
            },
        },
    }


def _channel(wire: _Wire) -> dict[str, Any]:
    parameters = {"venue": {"description": f"The venue's id. {_ID_DESCRIPTION}"}}
    if "{node}" in wire.address:
        parameters["node"] = {"description": f"The node's id. {_ID_DESCRIPTION}"}
    return {
        "address": wire.address,
        "summary": wire.summary,
        "parameters": parameters,
        "messages": {wire.name: {"$ref": f"#/components/messages/{wire.name}"}},
    }


def _operations(wire: _Wire) -> list[tuple[str, dict[str, Any]]]:
    receiver = "node" if wire.sender == "hub" else "hub"
    topic = wire.name.capitalize()
    sends = {"qos": wire.qos, "retain": wire.retain, "bindingVersion": _MQTT_BINDING}
    # Subscriptions are at QoS 0: on the embedded broker each one at QoS 1 costs a stream consumer.
    receives = {"qos": 0, "bindingVersion": _MQTT_BINDING}
    return [
        (f"{wire.sender}Sends{topic}", _operation(wire, "send", sends)),
        (f"{receiver}Receives{topic}", _operation(wire, "receive", receives)),
    ]


def _operation(wire: _Wire, action: str, mqtt: dict[str, Any]) -> dict[str, Any]:
    return {
        "action": action,
        "channel": {"$ref": f"#/channels/{wire.name}"},
        "messages": [{"$ref": f"#/channels/{wire.name}/messages/{wire.name}"}],
        "bindings": {"mqtt": mqtt},
    }


def _message(wire: _Wire, schema_file: str) -> dict[str, Any]:
    message: dict[str, Any] = {
        "name": wire.name,
        "title": wire.payload.__name__,
        "summary": wire.summary,
        "contentType": "application/json",
        "payload": {
            "schemaFormat": "application/schema+json;version=draft-2020-12",
            "schema": {"$ref": f"./{schema_file}"},
        },
    }
    if "correlation" in wire.payload.model_fields:
        message["correlationId"] = {"location": "$message.payload#/correlation"}
    return message
