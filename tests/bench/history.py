"""History of a year for a thousand nodes: what charts of a week and of a year take, and what it takes on disk.

The year is made up and written as blocks by the code that writes real ones; the hour that goes on is in the journal, a
row a second and shard, as a running hub has it. A chart is asked for by the service and over HTTP, with all that a node
or the venue has a history of; the slowest of several nodes counts.

    python -m tests.bench.history              # STRINGCOURSE_HISTORY_NODES=100 for a smaller one
"""

import multiprocessing
import os
import statistics
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import httpx
import numpy as np
from sqlalchemy import Engine, func, select
from sqlmodel import col

from hub.fleet.state import FleetState
from hub.history import HistoryLevel, HistoryService, Quantity, SubjectKind
from hub.history.block import Figures, Whole
from hub.history.levels import DAY_MS, HOUR_MS, MINUTE_MS, SHAPES, packed
from hub.history.models import HistoryBlock
from hub.history.quantities import COLUMN, COLUMNS, MEASURES, quantities_of
from hub.history.rows import PARTS, Rows
from hub.history.samples import samples_of
from hub.history.table import BlockKey, SubjectName, add_to_journal, number_subjects, read_blocks, write_blocks
from tests.bench.line import print_line
from tests.hub.edge import open_edge

VENUE = "arcade"
NODES = int(os.environ.get("STRINGCOURSE_HISTORY_NODES", "1000"))
NODES_PER_SUPPLY = 8
INTERVAL_MS = 5_000
POINTS = 1_000
ASKED_NODES = 9
TARGET_MS = 300.0
DAYS = {HistoryLevel.RAW: 1, HistoryLevel.MINUTE: 31, HistoryLevel.HOUR: 365}
SUBJECTS_AT_ONCE = 8
Numbered = tuple[int, SubjectName]
STEADY = [COLUMN[Quantity.DISK_FREE], COLUMN[Quantity.BUDGET], COLUMN[Quantity.NODES_ONLINE]]


def figures(chance: np.random.Generator, at_ms: Whole, kind: SubjectKind) -> Figures:
    """Invented: evenings are bright, boards warm with them; each figure with the noise of its own."""
    values = np.full((len(at_ms), len(COLUMNS)), np.nan)
    hour = at_ms % DAY_MS / HOUR_MS
    lit = np.clip(np.sin((hour - 10) / 24 * 2 * np.pi) * 2, 0.1, 1) * chance.uniform(0.8, 1.2)
    noise = chance.normal(size=(len(at_ms), 4))
    amps = lit * (2 + 0.3 * np.sin(at_ms / 47_000) + 0.05 * noise[:, 0])
    shown = {
        Quantity.AMPS: amps,
        Quantity.HIGHEST_AMPS: amps * 1.1 + 0.05 * np.abs(noise[:, 1]),
        Quantity.LIMITER_SCALE: np.minimum(1.0, 2.2 / amps),
        Quantity.FRAME_RATE: np.where(noise[:, 1] > 2, 59.9, 60.0),
        Quantity.LATE_FRAMES: np.where(noise[:, 1] > 2.5, 0.2, 0.0),
        Quantity.RENDER_TIME: 0.4 + 0.02 * noise[:, 2],
        Quantity.TEMPERATURE: 38 + 8 * lit + 0.2 * noise[:, 3],
        Quantity.CLOCK_DISPERSION: 0.5 + 0.1 * np.abs(noise[:, 0]),
        Quantity.MEMORY_FREE: 0.6 + 0.001 * noise[:, 1],
        Quantity.DISK_FREE: np.full(len(at_ms), 0.55),
        Quantity.HEARD: np.where(noise[:, 2] > 2, 0.917, 1.0),
        Quantity.BUDGET: np.full(len(at_ms), 8.0),
        Quantity.NODES_ONLINE: np.full(len(at_ms), float(NODES)),
    }
    for quantity, column in shown.items():
        if kind in MEASURES[quantity].kinds:
            values[:, COLUMN[quantity]] = column
    return values


def blocks_of(numbered: Numbered, open_from_ms: int) -> dict[BlockKey, bytes]:
    """A subject's year up to the hour that is open: 365 days of hours, 31 of minutes, one of samples."""
    subject, (_, kind, _) = numbered
    chance = np.random.default_rng(subject)
    blocks: dict[BlockKey, bytes] = {}
    for level, step_ms, spread in (
        (HistoryLevel.HOUR, HOUR_MS, 0.1),
        (HistoryLevel.MINUTE, MINUTE_MS, 0.03),
        (HistoryLevel.RAW, INTERVAL_MS, 0.0),
    ):
        block_ms = SHAPES[level].block_ms
        first = (open_from_ms - DAYS[level] * DAY_MS) // block_ms
        at_ms = np.arange(first * block_ms, open_from_ms, step_ms, dtype=np.int64)
        if level is HistoryLevel.RAW:
            at_ms += chance.integers(0, INTERVAL_MS // 5, len(at_ms))
        mean = figures(chance, at_ms, kind)
        wide = spread * np.abs(mean) * chance.uniform(0.5, 1, mean.shape)
        wide[:, STEADY] = np.where(np.isnan(mean[:, STEADY]), np.nan, 0)
        rows = Rows(at_ms, np.stack([mean - wide, mean, mean + wide]))
        for block in range(first, -(-open_from_ms // block_ms)):
            blocks[subject, level, block] = packed(level, rows.between(block * block_ms, (block + 1) * block_ms))
    return blocks


def names() -> list[SubjectName]:
    return [
        (VENUE, SubjectKind.VENUE, VENUE),
        *((VENUE, SubjectKind.NODE, f"node-{number}") for number in range(NODES)),
        *((VENUE, SubjectKind.SUPPLY, f"psu-{number}") for number in range(-(-NODES // NODES_PER_SUPPLY))),
    ]


def write_year(engine: Engine, numbered: list[Numbered], open_from_ms: int) -> None:
    """Two processes make blocks up, this one writes them."""
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        made = pool.imap_unordered(partial(blocks_of, open_from_ms=open_from_ms), numbered, SUBJECTS_AT_ONCE)
        for blocks in made:
            with engine.begin() as connection:
                write_blocks(connection, blocks)


def write_journal(engine: Engine, numbered: list[Numbered], from_ms: int, until_ms: int) -> None:
    """What came since the last hour was closed, a second at a time."""
    chance = np.random.default_rng(0)
    each = [
        samples_of(np.full(len(at_ms), subject), at_ms / 1_000, figures(chance, at_ms, kind))
        for subject, (_, kind, _) in numbered
        for at_ms in [np.arange(from_ms + chance.integers(INTERVAL_MS), until_ms, INTERVAL_MS, dtype=np.int64)]
    ]
    samples = np.concatenate(each)
    samples = samples[np.argsort(samples["at_ms"], kind="stable")]
    seconds = np.searchsorted(samples["at_ms"], np.arange(from_ms, until_ms, 1_000)[1:])
    with engine.begin() as connection:
        for second in np.split(samples, seconds):
            if len(second):
                add_to_journal(connection, second)


def slowest_ms(calls: list[Callable[[], object]]) -> float:
    """Each once to warm up, then three times: the slowest call's median."""
    found = []
    for call in calls:
        call()
        taken = []
        for _ in range(3):
            started_s = time.perf_counter()
            call()
            taken.append((time.perf_counter() - started_s) * 1_000)
        found.append(statistics.median(taken))
    return max(found)


def print_charts(engine: Engine, client: httpx.Client, numbered: list[Numbered]) -> None:
    service = HistoryService(engine, FleetState(), INTERVAL_MS / 1_000)
    asked = {
        "the venue": numbered[:1],
        "a node": [numbered[1 + place * NODES // ASKED_NODES] for place in range(ASKED_NODES)],
        "a supply": numbered[-1:],
    }
    for span, days in (("day", 1), ("week", 7), ("month", 30), ("year", 365)):
        for whose, some in asked.items():
            until_ms = service.now_ms()
            from_ms = until_ms - days * DAY_MS
            level = service.series(*some[0][1], quantities_of(some[0][1][1]), from_ms, until_ms, POINTS).level

            def bare(number: int, level: HistoryLevel = level, first: int = from_ms, last: int = until_ms) -> object:
                with engine.connect() as connection:
                    block_ms = SHAPES[level].block_ms
                    return read_blocks(connection, [number], level, first // block_ms, last // block_ms)

            def ask(name: SubjectName, first: int = from_ms, last: int = until_ms) -> object:
                return service.series(*name, quantities_of(name[1]), first, last, POINTS)

            def call(name: SubjectName, first: int = from_ms, last: int = until_ms) -> object:
                query = {"from_ms": first, "until_ms": last, "points": POINTS}
                answer = client.get(f"/api/v1/venues/{VENUE}/history/{name[1]}/{name[2]}", params=query)
                assert answer.status_code == 200, answer.text
                return answer.content

            baseline = slowest_ms([partial(bare, number) for number, _ in some])
            for way, reach in (("by the service", ask), ("over HTTP", call)):
                print_line(
                    bench="history",
                    figure=f"a {span}'s chart of {whose}, all its quantities, {level} level, {way}",
                    unit="ms",
                    value=slowest_ms([partial(reach, name) for _, name in some]),
                    baseline=baseline,
                    baseline_is="the level's blocks of that time fetched and not read",
                    target=TARGET_MS,
                )


def print_sizes(engine: Engine, file: Path) -> None:
    """Each level, and the file with its indices and the journal, against the same rows as plain floats."""
    quantities, in_all = len(quantities_of(SubjectKind.NODE)), 0
    with engine.connect() as connection:
        for level, shape in SHAPES.items():
            where = col(HistoryBlock.level) == shape.number
            size = select(func.sum(func.length(HistoryBlock.payload)), func.count()).where(where)
            packed_bytes, blocks = connection.execute(size).one()
            rows = blocks * (shape.block_ms // (INTERVAL_MS if level is HistoryLevel.RAW else shape.period_ms))
            plain_bytes = rows * (8 + 4 * quantities * (1 if level is HistoryLevel.RAW else PARTS))
            in_all += plain_bytes
            _print_size(f"{level} level, days kept: {DAYS[level]}", packed_bytes, plain_bytes)
    _print_size("database file with the journal of an hour", file.stat().st_size, in_all)


def _print_size(figure: str, size: float, plain: float) -> None:
    print_line(
        bench="history",
        figure=f"{figure}, {NODES} nodes",
        unit="MB",
        value=size / 1e6,
        baseline=plain / 1e6,
        baseline_is="the blocks' rows with times of 8 bytes and figures of 4",
        target=plain / 1e6,
    )


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, open_edge(Path(folder)) as edge:
        now_ms = round(time.time() * 1_000)
        # The hour before is not closed yet: the most that a chart finds in the journal.
        open_from_ms = (now_ms // HOUR_MS - 1) * HOUR_MS
        with edge.engine.begin() as connection:
            numbered = list(zip(number_subjects(connection, names()), names(), strict=True))
        write_year(edge.engine, numbered, open_from_ms)
        write_journal(edge.engine, numbered, open_from_ms, now_ms)
        with edge.client() as client:
            print_charts(edge.engine, client, numbered)
        with edge.engine.connect() as connection:
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
        print_sizes(edge.engine, Path(str(edge.engine.url.database)))


if __name__ == "__main__":
    main()
