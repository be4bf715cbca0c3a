"""The demo venues on the agent's own code: what each board stages, what the slow one refuses, what budgets allow."""

import functools
import re
from pathlib import Path

import pytest

from hub.desired import compile_bodies
from hub.desired.budgets import share_budgets
from hub.desired.compile import pixel_types_of
from node_agent.board import RehearsalBoard
from node_agent.limiter import BudgetLimiter
from node_agent.render import Renderer
from node_agent.staging import Refused, Staged, prepare
from schemas import Desired, DesiredBody, body_sha256
from tests.deploy.test_demo_venues import FILES, load

SHOW_TIME_S = 1_700_000_000.0
SLOW = "foyer-east"
SLOW_BOARD = RehearsalBoard(Path("unused"), pixel_layers_limit=120 * 6)
SCENES = [(file.name, scene.id) for file in FILES for scene in load(file.name).scenes]


@functools.cache
def bodies(name: str, scene: str) -> dict[str, DesiredBody]:
    return {
        node: DesiredBody.model_validate_json(body.model_dump_json())
        for node, body in compile_bodies(load(name), scene, 5.0).items()
    }


def desired(name: str, scene: str, node: str) -> Desired:
    body = bodies(name, scene)[node]
    return Desired(venue=load(name).id, node=node, revision=1, sha256=body_sha256(body), body=body)


@pytest.mark.parametrize(("name", "scene"), SCENES)
def test_every_board_stages_every_scene(name: str, scene: str) -> None:
    for node in bodies(name, scene):
        verdict = prepare(desired(name, scene, node), RehearsalBoard(Path("unused")), SHOW_TIME_S)
        assert isinstance(verdict, Staged), verdict


@pytest.mark.parametrize("scene", [scene for name, scene in SCENES if name == "arcade.yaml"])
def test_slow_board_refuses_the_heavy_scene_and_no_other(scene: str) -> None:
    verdict = prepare(desired("arcade.yaml", scene, SLOW), SLOW_BOARD, SHOW_TIME_S)
    if scene != "every-lamp-at-once":
        assert isinstance(verdict, Staged), verdict
    else:
        assert isinstance(verdict, Refused)
        assert verdict.refusal.field == "body.scenes.every-lamp-at-once.layers"


@pytest.mark.parametrize(("name", "scene"), SCENES)
def test_no_supply_of_a_demo_exceeds_its_budget_in_any_scene(name: str, scene: str) -> None:
    venue = load(name)
    amps = dict.fromkeys((supply.id for supply in venue.supplies), 0.0)
    shares = share_budgets(venue, pixel_types_of(venue))
    for node, body in bodies(name, scene).items():
        renderer, limiter = Renderer(body), BudgetLimiter(body)
        limiter.grant({share.supply: share.budget_a for share in shares[node]})
        showing = next(scene for scene in body.scenes if scene.id == body.showing)
        highest = dict.fromkeys(limiter.supplies, 0.0)
        for frame in range(25):
            limited = limiter.limit(renderer.render(showing, SHOW_TIME_S + frame / 5), 0.2)
            for supply_id, drawn in zip(limiter.supplies, limited.amps, strict=True):
                highest[supply_id] = max(highest[supply_id], float(drawn))
        for supply_id, drawn in highest.items():
            amps[supply_id] += drawn
    for supply in venue.supplies:
        assert 0 <= amps[supply.id] <= supply.budget_a, supply.id
    if scene == "full-white":
        limited_supplies = [supply.id for supply in venue.supplies if amps[supply.id] > 0.9 * supply.budget_a]
        assert limited_supplies, "full white brings supplies up to their budgets"


def test_quickstart_gives_the_demo_the_slow_board_that_its_file_names() -> None:
    deploy = FILES[0].parent.parent
    named = re.search(r"--slow-board (\S+)\)", (deploy / "quickstart").read_text(encoding="utf-8"))
    assert named is not None
    assert named[1] == SLOW
    assert SLOW in load("arcade.yaml").model_dump_json()
    assert f"the board {SLOW} plays such a board" in (deploy / "demo/arcade.yaml").read_text(encoding="utf-8")
