"""Scenes by chance, made from the statements' own JSON Schemas: in range, at the edges, and broken.

A pattern that is new is fuzzed by being there. What no schema says (ramps ascend, an image has the points that it
states) is seen to where a field of that name occurs, or hardly any scene would be in order.
"""

import base64
import copy
import json
import random
import string
import zlib
from collections.abc import Callable, Sequence
from typing import Any, Final

from node_agent.render.arithmetic import FUNCTIONS
from node_agent.render.expression import NAMES
from schemas import Scene
from schemas.bounds import MAX_LAYERS
from schemas.colour import CSS_COLOURS

Json = Any  # whatever JSON may hold

SCHEMA: Final = Scene.model_json_schema()
LETTERS: Final = string.digits + string.ascii_letters + string.punctuation + " éÄößñŠ…–’"
DEEP: Final = "@deep@"
BOMB: Final = base64.b64encode(zlib.compress(bytes(8_000_000), 9)).decode()
STRANGE: Final[Sequence[Json]] = (
    *(None, True, False, 0, -1, 1, 1e308, -1e308, 5e-324, -0.0, 2**63, 10**400, float("nan"), float("inf")),
    *("", " ", "0", "1.0", "nan", "true", "x" * 10_000, "\x1b[2J\x1b[31m", "\u202egnp.exe", "\x00", "\ud800"),
    *("🎪", "é" * 99, "../../etc/passwd", "{{7*7}}", "'; drop table scene; --", "#GGGGGG", "#fff", "__import__('os')"),
    *([], {}, [[]], [None] * 50, {"pattern": "wash"}, {"pattern": {}}, {"linear": [2, 0, 0]}, {"kelvin": "2700"}),
    *({"kelvin": 2700, "linear": [0, 0, 0]}, {"": 0}, {"__class__": "x"}, [0.5] * 3_000, BOMB, DEEP, {"a": DEEP}),
)  # fmt: skip


class SceneMaker:
    """Makes one scene after another from a seed."""

    def __init__(self, seed: int, zones: Sequence[str]) -> None:
        self._chance = random.Random(seed)
        self._zones = zones

    def scene(self) -> str:
        """A scene as JSON: two in three are meant well."""
        (count,) = self._chance.choices((0, 1, 2, 3, 5, MAX_LAYERS), weights=(4, 16, 10, 5, 3, 1))
        layers = [self._layer() for _ in range(count)]
        scene = {"id": "by-chance", "title": "By chance", "layers": layers}
        if self._chance.random() < 0.35:
            for _ in range(self._chance.choice((1, 1, 2, 4))):
                self._break(scene)
        levels = self._chance.choice((20, 40, 300, 980, 5_000))
        deep = self._chance.choice(('{"a":' * levels + "1" + "}" * levels, "[" * levels + "]" * levels))
        return json.dumps(scene).replace(json.dumps(DEEP), deep)

    def _layer(self) -> Json:
        layer = self._value(SCHEMA["$defs"]["Layer"])
        layer["zone"] = self._chance.choice(self._zones)
        return layer

    def _value(self, schema: dict[str, Json], name: str = "") -> Json:
        if "$ref" in schema:
            return self._value(SCHEMA["$defs"][schema["$ref"].rsplit("/", 1)[1]], name)
        for kind in ("anyOf", "oneOf"):
            if kind in schema:
                return self._value(self._chance.choice(schema[kind]), name)
        if "const" in schema:
            return schema["const"]
        if "enum" in schema:
            return self._chance.choice(schema["enum"])
        match schema["type"]:
            case "null":
                return None
            case "boolean":
                return self._chance.random() < 0.5
            case "number" | "integer":
                return self._number(schema)
            case "string":
                return self._text(schema, name)
            case "array":
                return self._array(schema, name)
            case _:
                return self._group(schema)

    def _number(self, schema: dict[str, Json]) -> float:
        least, most = float(schema["minimum"]), float(schema["maximum"])
        kind = self._chance.random()
        if kind < 0.15:
            number = self._chance.choice((least, most, 0.0, 1.0, 5e-324, least + (most - least) * 1e-9))
        elif kind < 0.55:  # in the order of what people write
            number = self._chance.choice((-1, 1)) * self._chance.lognormvariate(0, 1.5)
        else:
            number = self._chance.uniform(least, most)
        number = min(max(number, least), most)
        if schema["type"] == "integer":
            return int(number)
        return round(number, self._chance.choice((0, 1, 3))) if self._chance.random() < 0.5 and least < 0 else number

    def _text(self, schema: dict[str, Json], name: str) -> str:
        if name == "colour" or "sRGB" in schema.get("description", ""):
            return self._chance.choice(
                (*self._chance.sample(list(CSS_COLOURS), 3), f"#{self._chance.getrandbits(24):06x}")
            )
        if name == "formula":
            return self._expression(self._chance.choice((1, 2, 3, 4)))[: schema["maxLength"]]
        length = self._chance.randint(schema.get("minLength", 0), min(schema["maxLength"], 80))
        return "".join(self._chance.choices(LETTERS, k=length))

    def _expression(self, depth: int) -> str:
        if depth == 0:
            number = str(round(self._chance.lognormvariate(0, 1), 2))
            return self._chance.choice((*NAMES, "x", "y", "turn", number, number))
        if self._chance.random() < 0.4:
            name = self._chance.choice(list(FUNCTIONS))
            return f"{name}({', '.join(self._expression(depth - 1) for _ in range(FUNCTIONS[name].arguments))})"
        sign = self._chance.choice(("+", "-", "*", "/", "%"))
        one, other = self._expression(depth - 1), self._expression(depth - 1)
        return self._chance.choice(
            (f"({one} {sign} {other})", f"({one} {sign} {other})", f"-{one}", f"({one}) ** {depth}")
        )

    def _array(self, schema: dict[str, Json], name: str) -> list[Json]:
        if "prefixItems" in schema:
            return [self._value(item) for item in schema["prefixItems"]]
        fewest = schema.get("minItems", 0)
        most = min(schema["maxItems"], self._chance.choice((fewest, fewest + 1, 5, 64)))
        items = [self._value(schema["items"], name) for _ in range(self._chance.randint(fewest, max(fewest, most)))]
        if schema["items"].get("$ref", "").endswith("/Stop") and self._chance.random() < 0.97:
            places = sorted({round(self._chance.random(), 4) for _ in items})
            items = [{**item, "at": place} for item, place in zip(items, places, strict=False)]
        return items

    def _group(self, schema: dict[str, Json]) -> dict[str, Json]:
        group = {
            name: self._value(part, name)
            for name, part in schema["properties"].items()
            if name in schema["required"] or self._chance.random() < 0.6
        }
        if "first" in group:
            group["first"] = 0
            group["pixels"] = 1
        if "image" in group and self._chance.random() < 0.95:
            group["columns"] = self._chance.choice((1, 2, 16, 128))
            group["rows"] = self._chance.choice((1, 7, 32))
            points = self._chance.randbytes(3) * (group["columns"] * group["rows"])
            group["image"] = base64.b64encode(zlib.compress(points)).decode()
        for larger, smaller in (("spacing_m", "length_m"), ("width_m", "soft_m")):
            if larger in group and smaller in group and self._chance.random() < 0.95:
                group[smaller] = max(group[larger] / 2, 0.001)
                group.update({"tail_m": 0.0} if "tail_m" in group else {})
        return group

    def _break(self, scene: dict[str, Json]) -> None:
        holder, key = self._chance.choice(_places(scene) or [(scene, "layers")])
        faults: Sequence[Callable[[], None]] = (
            lambda: _put(holder, key, copy.deepcopy(self._chance.choice(STRANGE))),
            lambda: _put(holder, key, copy.deepcopy(self._chance.choice(STRANGE))),
            lambda: _put(holder, key, self._chance.choice((-1e6, 1e6, 1e-9, -1)) * _number_or_1(holder, key)),
            lambda: _take(holder, key),
            lambda: _put(holder, self._chance.choice(("colour", "speed", "\x1b]0;x\x07", "k" * 9_999)), 1),
            lambda: _put(holder, key, copy.deepcopy([_part(holder, key)]) * self._chance.choice((1, 2, 70))),
        )
        self._chance.choice(faults)()


def _places(value: Json) -> list[tuple[Json, Json]]:
    """Every value within, as what holds it and the key."""
    keys = list(value) if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    found = [(value, key) for key in keys]
    return found + [place for key in keys for place in _places(value[key])]


def _part(holder: Json, key: Json) -> Json:
    return holder.get(key) if isinstance(holder, dict) else holder[key]


def _number_or_1(holder: Json, key: Json) -> float:
    value = _part(holder, key)
    return value if isinstance(value, (int, float)) else 1


def _put(holder: Json, key: Json, value: Json) -> None:
    if isinstance(holder, list) and isinstance(key, str):
        holder.append(value)
    else:
        holder[key] = value


def _take(holder: Json, key: Json) -> None:
    if isinstance(holder, list):
        del holder[key]
    else:
        holder.pop(key, None)
