"""A whole venue on one machine: the hub with its broker, and one real agent process for every node of a venue file."""

import contextlib
import json
import sys
import time
from collections.abc import Callable, Iterable
from http import HTTPStatus
from pathlib import Path
from typing import Any

import httpx
import psutil

from hub.rehearsal.ports import lasting_ports
from hub.rehearsal.processes import Child, ChildFailedError, own_environment, run_to_end, wait_until
from hub.venue_file import write_venue
from schemas import Venue

Say = Callable[[str], None]

START_DEADLINE_S = 60.0
STOP_DEADLINE_S = 8.0
LONGEST_FLASH_CHECK_S = 180.0
"""A scene that is taken before the hub has checked it for flashes is checked first, beside all that starts here."""
PAGE_LIMIT = 500
# What a slow board carries, in full layers over its own pixels; a scene that asks for more, it refuses.
SLOW_BOARD_LAYERS = 6


class Rehearsal:
    """Starts and stops the parts. `data_dir` keeps the hub's data and each board's credential, state and captures.

    Without `keeps_hours` the venue's timetable is left out, so that what shows does not depend on the hour.
    """

    def __init__(
        self,
        venue: Venue,
        venue_file: Path,
        data_dir: Path,
        *,
        slow_board: str | None,
        say: Say,
        keeps_hours: bool = True,
    ) -> None:
        self.venue = venue if keeps_hours else venue.model_copy(update={"timetable": ()})
        self.data_dir = data_dir
        self.slow_board = slow_board
        self._venue_file = venue_file
        self._keeps_hours = keeps_hours
        self._say = say
        self._programs = Path(sys.executable).parent
        self._token = ""
        ports = lasting_ports(data_dir / "ports.json")
        command: list[str | Path] = [self._programs / "stringcourse", "up", "--data", self.hub_dir]
        command += ["--port", str(ports.api), "--broker-port", str(ports.broker)]
        self.hub = Child("the hub", command, data_dir / "logs" / "hub.log")
        self.address = f"http://127.0.0.1:{ports.api}"
        self.boards = {node.id: self._board(node.id) for node in venue.nodes}
        self._api = httpx.Client(base_url=self.address, timeout=30.0, trust_env=False)

    @property
    def hub_dir(self) -> Path:
        return self.data_dir / "hub"

    @property
    def token(self) -> str:
        return self._token

    def start(self) -> None:
        """Start everything; returns when every board shows the revision in force."""
        self.start_hub()
        self._token = self._new_token()
        self._load_venue()
        self._say(f"starting {len(self.boards)} boards, one agent process each")
        for node in self.boards:
            self.start_board(node)
        self.wait(f"all {len(self.boards)} boards show the scene in force", self.all_in_force, START_DEADLINE_S)

    def start_hub(self) -> None:
        """Start the hub; returns when its API answers."""
        self._say("starting the hub with its broker and database")
        self.hub.start()
        wait_until("the hub's API answers", self._answers, START_DEADLINE_S, [self.hub])

    def start_board(self, node: str) -> None:
        """Start a board's agent, with a new credential where it has none yet."""
        credential = self._board_dir(node) / "credential.json"
        if not credential.exists():
            issued = self.call("POST", f"/nodes/{node}/credential")
            credential.parent.mkdir(parents=True, exist_ok=True)
            credential.touch(mode=0o600)
            credential.write_text(json.dumps(issued))
        self.boards[node].start()

    def stop(self) -> None:
        """Stop boards, then the hub (which stops its broker); past the deadline they are killed."""
        for board in self.boards.values():
            board.signal_stop()
        until = time.monotonic() + STOP_DEADLINE_S
        for board in self.boards.values():
            board.wait_stopped(max(0.1, until - time.monotonic()))
        self.hub.signal_stop()
        self.hub.wait_stopped(STOP_DEADLINE_S)
        self._api.close()

    def call(self, method: str, path: str, **arguments: Any) -> Any:  # noqa: ANN401 (JSON of any shape)
        """A call to the hub's API below the venue; raises ChildFailedError with the hub's own words when it fails."""
        return _json(self._request(method, path, **arguments))

    def node_states(self) -> dict[str, dict[str, Any]]:
        """Live state of every node, by id, as the API shows it."""
        states: dict[str, dict[str, Any]] = {}
        after: str | None = None
        while True:
            parameters = {"limit": PAGE_LIMIT} | ({"cursor": after} if after else {})
            page = self.call("GET", "/node-states", params=parameters)
            states.update({state["node"]: state for state in page["items"]})
            after = page["next"]
            if after is None:
                return states

    def findings(self, *, kind: str, node: str) -> list[dict[str, Any]]:
        """Findings of a kind on a node, open and ended, newest first."""
        parameters = {"kind": kind, "node": node, "limit": PAGE_LIMIT}
        items: list[dict[str, Any]] = self.call("GET", "/findings", params=parameters)["items"]
        return items

    def all_in_force(self) -> bool:
        """Whether every board is online and shows the newest revision that was taken."""
        rollouts = self.call("GET", "/rollouts", params={"limit": 20})["items"]
        taken = [rollout["revision"] for rollout in rollouts if rollout["state"] == "taken"]
        states = self.node_states()
        return bool(taken) and all(
            states.get(node, {}).get("online") and states[node]["revision_showing"] == taken[0] for node in self.boards
        )

    def take(self, scene: str, fade_ms: int = 0) -> dict[str, Any]:
        """Take a scene and wait for the rollout's end; returns it as the API shows it."""
        return self.wait_ended(self.begin_take(scene, fade_ms))

    def begin_take(self, scene: str, fade_ms: int = 0) -> int:
        """Ask for a scene; returns the revision of its rollout. Waits for the rollout before to be quite over."""

        def begun() -> int | None:
            wanted = {"scene": scene, "fade_ms": fade_ms}
            answer = self._request("POST", "/takes", json=wanted, timeout=LONGEST_FLASH_CHECK_S)
            return None if answer.status_code == HTTPStatus.CONFLICT else _json(answer)["revision"]

        return wait_until(f"a rollout of {scene!r} can begin", begun, 10.0, [self.hub])

    def wait_ended(self, revision: int) -> dict[str, Any]:
        """Wait until a rollout is taken or halted; returns it."""

        def ended() -> dict[str, Any] | None:
            rollout: dict[str, Any] = self.call("GET", f"/rollouts/{revision}")
            return None if rollout["state"] == "staging" else rollout

        return wait_until(f"the rollout of revision {revision} ends", ended, 30.0, [self.hub])

    def all_heard_since(self, since_s: float) -> bool:
        """Whether every board is online and has said something since a time (the hub's clock)."""
        states = self.node_states()
        return all(
            states.get(node, {}).get("online") and states[node]["heard_at_ms"] >= since_s * 1000 for node in self.boards
        )

    def broker_pid(self) -> int | None:
        """Process id of the embedded broker, a child of the hub; None while there is none."""
        for child in psutil.Process(self.hub.pid).children():
            # One that was killed may be reaped while it is looked at.
            with contextlib.suppress(psutil.NoSuchProcess):
                if "nats" in child.name():
                    return child.pid
        return None

    def captured(self, nodes: Iterable[str], since_s: float) -> dict[str, dict[str, Any]]:
        """What boards put on their wires since a wall-clock time, as `stringcourse-node capture --json` prints it."""
        named = list(nodes)
        folders = [self._board_dir(node) / "capture" for node in named]
        printed = self._program("stringcourse-node", "capture", *folders, "--since", repr(since_s), "--json")
        return dict(zip(named, map(json.loads, printed.splitlines()), strict=True))

    def wait(self, what: str, condition: Callable[[], bool], deadline_s: float) -> None:
        """Wait for a condition while the hub lives; raises ChildFailedError past the deadline."""
        wait_until(what, condition, deadline_s, [self.hub])

    def _board(self, node: str) -> Child:
        folder = self._board_dir(node)
        command: list[str | Path] = [self._programs / "stringcourse-node", "start"]
        command += ["--credential", folder / "credential.json", "--state", folder / "state"]
        command += ["--capture", folder / "capture"]
        if node == self.slow_board:
            pixels = sum(
                channel.run.pixels for each in self.venue.nodes if each.id == node for channel in each.channels
            )
            command += ["--pixel-layers-at-most", str(pixels * SLOW_BOARD_LAYERS)]
        return Child(f"board {node}", command, self.data_dir / "logs" / f"{node}.log")

    def _board_dir(self, node: str) -> Path:
        return self.data_dir / "boards" / node

    def _load_venue(self) -> None:
        self._say(f"loading the venue {self.venue.title!r} from {self._venue_file.name}")
        file = self._venue_file
        if not self._keeps_hours:
            file = self.data_dir / "venue-without-timetable.yaml"
            file.write_text(write_venue(self.venue), encoding="utf-8")
        self._program("stringcourse", "venue", "load", file, "--yes")

    def _new_token(self) -> str:
        printed = self._program("stringcourse", "token", "new", "--data", self.hub_dir, "--json")
        token: str = json.loads(printed)["token"]
        return token

    def _program(self, program: str, *words: str | Path) -> str:
        environment = own_environment() | {"STRINGCOURSE_HUB": self.address, "STRINGCOURSE_TOKEN": self._token}
        return run_to_end([self._programs / program, *words], environment)

    def _request(self, method: str, path: str, **arguments: Any) -> httpx.Response:  # noqa: ANN401
        address = f"/api/v1/venues/{self.venue.id}{path}"
        return self._api.request(method, address, headers={"Authorization": f"Bearer {self._token}"}, **arguments)

    def _answers(self) -> bool:
        try:
            return self._api.get("/api/v1/openapi.json").is_success
        except httpx.TransportError:
            return False


def _json(answer: httpx.Response) -> Any:  # noqa: ANN401 (JSON of any shape)
    if answer.is_error:
        request = answer.request
        raise ChildFailedError(
            f"{request.method} {request.url.path} answered {answer.status_code}: {answer.text[:400]}"
        )
    return answer.json()
