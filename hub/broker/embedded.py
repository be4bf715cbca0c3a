"""The embedded broker: a NATS server run as a child, restarted when it dies, and never left behind."""

import contextlib
import json
import logging
import os
import secrets
import signal
import subprocess
import threading
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Final

import bcrypt
import psutil

from hub.broker.configuration import HUB_USER, BrokerPlace, BrokerUser, render_configuration
from hub.broker.ports import usable_port
from hub.broker.private_file import write_private
from hub.broker.program import nats_server_program
from hub.broker.ready import mqtt_answers
from hub.errors import UnavailableError
from hub.parent_death import END_WITH_PARENT

START_DEADLINE_S: Final = 20.0
STOP_DEADLINE_S: Final = 5.0
FIRST_BACK_OFF_S: Final = 0.2
MAX_BACK_OFF_S: Final = 10.0
# Secrets are 256 random bits: no guessing succeeds, however cheap a guess. A higher cost would only slow connecting.
BCRYPT_COST: Final = 4

log = logging.getLogger(__name__)


class EmbeddedBroker:
    """Runs from `start` to `stop`. `users` is asked for the nodes' users whenever the configuration is written."""

    def __init__(self, folder: Path, host: str, port: int, users: Callable[[], Iterable[BrokerUser]]) -> None:
        self.host = host
        self.port = port
        self.hub_secret = secrets.token_urlsafe(32)
        self.restarts = 0
        self._folder = folder
        self._users = users
        self._hub_hash = bcrypt.hashpw(self.hub_secret.encode(), bcrypt.gensalt(BCRYPT_COST)).decode()
        self._program = nats_server_program()
        self._process: subprocess.Popen[bytes] | None = None
        self._place: BrokerPlace | None = None
        self._reloading = threading.Lock()
        self._ready = False
        self._stale = False
        self._stopping = threading.Event()
        self._first_start = threading.Event()
        self._failure: str | None = None
        self._thread = threading.Thread(target=self._supervise, name="broker", daemon=True)

    @property
    def pid(self) -> int | None:
        """Of the running server; None between a death and the restart."""
        process = self._process
        return process.pid if process is not None and process.poll() is None else None

    @property
    def hub_user(self) -> str:
        return HUB_USER

    def start(self) -> None:
        """Return when the broker accepts MQTT connections. Raises UnavailableError with the remedy when it cannot."""
        self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        self._end_earlier()
        self.port = self.port or self._port_of_before()
        self.port = usable_port(self.host, self.port, "--broker-port")
        self._place = BrokerPlace(
            host=self.host,
            mqtt_port=self.port,
            client_port=usable_port("127.0.0.1", 0, "--broker-port"),
            store=self._folder / "store",
            log=self._folder / "broker.log",
            pid_file=self._pid_file,
        )
        self._write_configuration(self._place)
        self._thread.start()
        self._first_start.wait(START_DEADLINE_S + STOP_DEADLINE_S)
        if self._failure is not None or not self._first_start.is_set():
            self.stop()
            raise UnavailableError(f"the embedded broker did not start: {self._failure or 'it never answered'}")

    def reload(self) -> None:
        """Take in changed users. Nobody whose user stays is cut off."""
        if self._place is None:
            return
        with self._reloading:
            self._write_configuration(self._place)
            # One that is still starting would be ended by the signal; it is told when it is ready.
            self._stale = not self._ready
            if self._ready:
                self._hang_up()

    def stop(self) -> None:
        """End the server; it first stores what it holds."""
        self._stopping.set()
        process = self._process
        if process is not None:
            _end(process)
        if self._thread.is_alive():
            self._thread.join(STOP_DEADLINE_S)
        self._pid_file.unlink(missing_ok=True)

    @property
    def _pid_file(self) -> Path:
        return self._folder / "broker.pid"

    @property
    def _configuration_file(self) -> Path:
        return self._folder / "broker.conf"

    def _write_configuration(self, place: BrokerPlace) -> None:
        write_private(self._configuration_file, render_configuration(place, self._hub_hash, self._users()))

    def _hang_up(self) -> None:
        pid = self.pid
        if pid is not None:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGHUP)

    def _supervise(self) -> None:
        # The death signal of a child is tied to the thread that started it: this thread lives as long as the broker.
        back_off_s = FIRST_BACK_OFF_S
        while not self._stopping.is_set():
            started_s = time.monotonic()
            self._process = self._spawn()
            if self._becomes_ready(self._process):
                with self._reloading:
                    self._ready = True
                    if self._stale:
                        self._hang_up()
                self._first_start.set()
                log.info("broker started pid=%d mqtt=%s:%d", self._process.pid, self.host, self.port)
            elif not self._first_start.is_set():
                self._failure = self._last_words()
                _end(self._process)
                self._first_start.set()
                return
            code = self._process.wait()
            self._ready = False
            if self._stopping.is_set():
                return
            self.restarts += 1
            if time.monotonic() - started_s > MAX_BACK_OFF_S:
                back_off_s = FIRST_BACK_OFF_S
            log.error("broker ended by itself exit_code=%d restart_in_s=%.1f log=%s", code, back_off_s, self._place_log)
            self._stopping.wait(back_off_s)
            back_off_s = min(MAX_BACK_OFF_S, back_off_s * 2)

    def _spawn(self) -> subprocess.Popen[bytes]:
        with self._reloading, (self._folder / "broker.stderr").open("wb") as errors:
            return subprocess.Popen(  # noqa: S603 (our own program and file)
                [self._program, "-c", self._configuration_file],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=errors,
                start_new_session=True,
                preexec_fn=END_WITH_PARENT,
            )

    def _becomes_ready(self, process: subprocess.Popen[bytes]) -> bool:
        until = time.monotonic() + START_DEADLINE_S
        while time.monotonic() < until and process.poll() is None and not self._stopping.is_set():
            if mqtt_answers(self.host, self.port, HUB_USER, self.hub_secret):
                return True
            self._stopping.wait(0.05)
        return False

    def _end_earlier(self) -> None:
        """A broker of a hub that was killed may still run on this folder's store; two would spoil it."""
        try:
            process = psutil.Process(int(self._pid_file.read_text()))
            ours = str(self._configuration_file) in process.cmdline()
        except (OSError, ValueError, psutil.Error):
            return
        if not ours:
            return
        log.warning("ending a broker left by an earlier hub pid=%d", process.pid)
        with contextlib.suppress(psutil.NoSuchProcess):
            process.terminate()
            if not _ends(process):
                process.kill()
                _ends(process)

    def _port_of_before(self) -> int:
        """The port of the run before if it is free, else 0: boards hold it in their credentials."""
        try:
            port = int(json.loads(self._configuration_file.read_text())["mqtt"]["port"])
            return usable_port(self.host, port, "--broker-port")
        except (OSError, ValueError, KeyError, TypeError, UnavailableError):
            return 0

    @property
    def _place_log(self) -> Path:
        return self._folder / "broker.log"

    def _last_words(self) -> str:
        words = ""
        for file in (self._folder / "broker.stderr", self._place_log):
            with contextlib.suppress(OSError):
                words += file.read_text(errors="replace")[-1_000:]
        return words.strip().splitlines()[-1][:300] if words.strip() else "it said nothing"


def _ends(process: psutil.Process) -> bool:
    """Whether a process that is not our child ends in time; as a zombie of a parent that hangs, it has ended too."""
    until = time.monotonic() + STOP_DEADLINE_S
    while time.monotonic() < until:
        if not process.is_running() or process.status() == psutil.STATUS_ZOMBIE:
            return True
        time.sleep(0.02)
    return False


def _end(process: subprocess.Popen[bytes]) -> None:
    process.terminate()
    try:
        process.wait(STOP_DEADLINE_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
