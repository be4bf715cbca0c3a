"""Kilowatt-hours and cost against definitions and published worked examples."""

from datetime import date

import pytest

from hub.energy.account import account_of
from hub.energy.counting import Counted, Told, count
from hub.energy.table import EnergyBy, EnergySum
from hub.energy.view import EnergyFigures
from schemas import Tariff

DAY = date(2031, 5, 1)


def worked_out(
    watts: float, hours: float, *, volts: float = 5.0, efficiency: float = 1.0, per_kwh: float = 0.0
) -> EnergyFigures:
    """A load of so many watts for so long, counted as a board's is."""
    amps = watts / volts
    told = count(None, Told("0123456789abcdef", amps * hours, hours * 3_600, 0.0), rated_a=amps)
    assert isinstance(told, Counted)
    watt_h = told.amp_h * volts
    drawn = EnergySum("load", told.amp_h, watt_h, watt_h / efficiency, told.hours)
    return account_of([drawn], DAY, DAY, EnergyBy.SUPPLY, Tariff(currency="USD", per_kwh=per_kwh), "UTC").total


def test_units_are_those_of_the_si() -> None:
    # SI Brochure, 9th edition (2019): table 8, 1 h = 3,600 s; table 4, C = A·s and J = V·C. So 1 A·h = 3,600 C, and at
    # 1 V it is 3,600 J = 1 W·h; 1 kW·h = 3.6 MJ.
    figures = worked_out(watts=1.0, hours=1.0, volts=1.0)
    assert figures.amp_h * 3_600 == pytest.approx(3_600)  # coulombs
    assert figures.dc_kwh * 3.6e6 == pytest.approx(3_600)  # joules


def test_bulb_of_100_watts_for_10_hours() -> None:
    # Holland Board of Public Works (a city's utility), "Calculate your cost per kWh": "(100 watts x 10 hours)/1,000 =
    # 1kWh or .$08 to operate" at $.08/kWh.
    figures = worked_out(watts=100, hours=10, per_kwh=0.08)
    assert figures.mains_kwh == pytest.approx(1.0)
    assert figures.cost == pytest.approx(0.08)


def test_refrigerator_of_1200_watts_for_4_8_hours() -> None:
    # Apogee's energy library for utilities, "Determining kWh Use: Estimating": 1.2 kW × 4.8 h = 5.76 kWh.
    assert worked_out(watts=1_200, hours=4.8, volts=120).mains_kwh == pytest.approx(5.76)


def test_supply_that_draws_120_watts_to_give_108() -> None:
    # Ideal Power's efficiency page: 120 W from the mains and 108 W to the load are 90 %.
    figures = worked_out(watts=108, hours=1, volts=12, efficiency=0.9)
    assert figures.dc_kwh == pytest.approx(0.108)
    assert figures.mains_kwh == pytest.approx(0.120)
