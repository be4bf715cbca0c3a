"""Blocks give back what they hold, to half a step; damaged ones are refused; later columns are empty."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from hub.history.block import pack, unpack

STEPS = np.array([0.01, 0.5, 1.0])
Figure = st.one_of(st.just(np.nan), st.floats(-1e6, 1e6))


@given(st.data(), st.integers(1, 3), st.integers(1, 40))
def test_block_gives_back_what_it_holds_to_half_a_step(data: st.DataObject, parts: int, rows: int) -> None:
    figures = data.draw(arrays(np.float64, (parts, rows, len(STEPS)), elements=Figure))
    at = np.sort(data.draw(arrays(np.int64, rows, elements=st.integers(0, 3_600_000))))
    found_at, found = unpack(pack(at, figures, STEPS), STEPS)
    assert found_at.tolist() == at.tolist()
    assert (np.isnan(found) == np.isnan(figures)).all()
    assert (
        np.abs(found - figures)[~np.isnan(figures)] <= np.broadcast_to(STEPS * 0.501, figures.shape)[~np.isnan(figures)]
    ).all()


def test_what_exceeds_a_block_is_cut_off() -> None:
    _, found = unpack(pack(np.zeros(1, np.int64), np.array([[[1e12, -1e12, 3.0]]]), STEPS), STEPS)
    assert found[0, 0].tolist() == [2**29 * 0.01, -(2**29) * 0.5, 3.0]


def test_columns_that_came_later_are_empty() -> None:
    old = pack(np.arange(2), np.ones((1, 2, 2)), STEPS[:2])
    _, found = unpack(old, STEPS)
    assert found[0, :, :2].tolist() == [[1, 1], [1, 1]]
    assert np.isnan(found[0, :, 2]).all()


def test_damaged_block_is_refused() -> None:
    whole = pack(np.arange(5), np.random.default_rng(1).normal(size=(1, 5, 3)), STEPS)
    for damaged in (b"", whole[:5], whole[:-3], b"\x09" + whole[1:], whole[:12] + b"\xff" + whole[13:]):
        with pytest.raises(ValueError, match="block"):
            unpack(damaged, STEPS)


def test_what_hardly_changes_is_small() -> None:
    """An hour of samples that move by a step now and then: an eighth of the journal's 68 bytes or less."""
    chance = np.random.default_rng(1)
    at = np.arange(720) * 5_000 + chance.integers(-500, 500, 720)
    figures = 20 + np.cumsum(chance.integers(-1, 2, (1, 720, 3)), axis=1) * STEPS
    assert len(pack(at, figures, STEPS)) < 720 * 8
