"""A node's figures in words."""

from hub.cli.node_figures import live_columns, live_line, rows_of
from hub.fleet.state import NodeState
from hub.fleet.view import view_of
from schemas import BoardFigures
from tests.hub.played_node import telemetry

BOARD = BoardFigures(
    starts=12, start_cause="power", memory_free_share=0.4, under_voltage=False, link="wireless", signal_dbm=-71
)


def _state(board: BoardFigures | None) -> dict[str, object]:
    node = NodeState("arcade", "bay-01")
    node.heard_at_s = 1_700_000_000
    node.telemetry = telemetry().model_copy(update={"board": board})
    return view_of(node, None, 7).model_dump(mode="json")


def test_board_is_told_in_words() -> None:
    rows = dict(rows_of(_state(BOARD)))
    assert rows["starts"] == "12; this time: the board lost power or was reset"
    assert rows["link"] == "wireless -71 dBm"
    assert (rows["memory free"], rows["disk free"], rows["under-voltage"]) == ("40 %", None, "no")


def test_board_that_tells_nothing_has_no_rows() -> None:
    assert "starts" not in dict(rows_of(_state(None)))


def test_live_line_stands_below_its_columns() -> None:
    for board in (BOARD, None):
        columns, line = live_columns(), live_line(_state(board))
        assert len(columns) <= len(line) <= len(columns) + 8
        assert line.index(" ms") < columns.index("amps")
