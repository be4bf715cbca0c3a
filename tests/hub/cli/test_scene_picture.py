"""`stringcourse scene picture`: what it prints is a layer of a venue file."""

from pathlib import Path

import numpy as np
from PIL import Image

from hub.cli.exit_code import ExitCode
from hub.venue_file import read_venue
from node_agent.render.patterns.picture import Picture
from tests.hub.cli.conftest import Stringcourse

ALONE = {"STRINGCOURSE_HUB": "http://127.0.0.1:9", "STRINGCOURSE_TOKEN": ""}
VENUE = """
id: v
title: V
supplies: [{id: five, volts: 5, rated_a: 4}]
nodes:
  - id: n
    outputs: 1
    channels:
      - number: 1
        pin: spidev0.0
        run:
          pixel_type: rgb-5v-nrz800
          pixels: 9
          pixels_per_m: 30
          feeds: [{supply: five, wire_mm2: 1.5, length_m: 1}]
zones:
  - {id: gable, spans: [{node: n, channel: 1, pixels: 9, path: [[0, 0], [1, 1]]}]}
scenes:
  - id: s
    title: S
    layers:
"""


def test_an_image_is_printed_as_a_layer_to_paste_without_a_hub(stringcourse: Stringcourse, tmp_path: Path) -> None:
    codes = np.random.default_rng(6).integers(0, 256, (16, 40, 3), dtype=np.uint8)
    Image.fromarray(codes).save(tmp_path / "image.png")
    printed = stringcourse("scene", "picture", "image.png", "--columns", 40, "--zone", "gable", **ALONE)
    assert printed.returncode == 0, printed.stderr
    pasted = VENUE + "".join(f"      {line}\n" for line in printed.stdout.splitlines())
    (layer,) = read_venue(pasted.encode()).scenes[0].layers
    assert layer.zone == "gable"
    assert isinstance(layer.pattern, Picture)
    assert (layer.pattern.columns, layer.pattern.rows) == (40, 16)


def test_what_is_no_image_ends_with_field_and_remedy(stringcourse: Stringcourse, tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("not an image")
    refused = stringcourse("scene", "picture", "notes.txt", **ALONE)
    assert refused.returncode == ExitCode.BAD_INPUT
    assert not refused.stdout
    assert "it is not an image that can be read" in refused.stderr
    assert "give one in PNG, JPEG, WEBP" in refused.stderr
