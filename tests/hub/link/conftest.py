"""The link is held against each kind of broker."""

import pytest

from tests.brokers import Broker


@pytest.fixture
def broker(each_broker: Broker) -> Broker:
    return each_broker
