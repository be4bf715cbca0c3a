"""The reference library for colours."""

import warnings
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def colour_science() -> ModuleType:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns about optional packages that are not needed here
        import colour
    return colour
