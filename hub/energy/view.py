"""The account of energy as API and command line show it."""

from datetime import date

from pydantic import BaseModel, Field

from hub.energy.table import EnergyBy


class EnergyFigures(BaseModel):
    """Charge, energy and cost."""

    amp_h: float = Field(description="Charge drawn from the supplies, amp-hours.")
    dc_kwh: float = Field(description="Energy on the DC side: amp-hours × the supply's volts.")
    mains_kwh: float = Field(description="Energy from the mains: the DC side's over the supply's efficiency.")
    cost: float | None = Field(description="mains_kwh × the tariff; null where the venue states none.")
    hours: float = Field(
        description="Hours that the boards' counters cover, summed over nodes and supplies: one node on two supplies "
        "heard all day has 48."
    )


class EnergyRow(EnergyFigures):
    """One supply, node or day."""

    name: str = Field(description="Id of the supply or node, or the day, YYYY-MM-DD.")


class EnergyAccount(BaseModel):
    """What a venue's pixels drew, from the counters of its boards."""

    first_day: date = Field(description="First day that is counted.")
    last_day: date = Field(description="Last day that is counted, up to the newest telemetry.")
    time_zone: str = Field(description="The venue's, whose days these are.")
    by: EnergyBy
    currency: str | None = Field(description="Of the costs, ISO 4217.")
    per_kwh: float | None = Field(description="The tariff.")
    rows: list[EnergyRow] = Field(description="In the order of their names; without those that nothing was heard of.")
    total: EnergyFigures
    notes: list[str] = Field(description="How it is counted, and what it leaves out.")
