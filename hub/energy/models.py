"""Tables of energy: what each node drew from each supply by day, and the counters up to which it is counted."""

from sqlmodel import Field, SQLModel

MAX_ENDED_BOOTS = 8


class EnergyDay(SQLModel, table=True):
    """Charge and energy on the DC side that a node drew from a supply on a day of the venue's time zone
    (YYYY-MM-DD). Kept for 3 years.

    `watt_h` is counted with the supply's volts of that time; `hours` is how long the node's counter covers.
    """

    __tablename__ = "energy_day"

    venue: str = Field(primary_key=True, max_length=40)
    day: str = Field(primary_key=True, max_length=10)
    supply: str = Field(primary_key=True, max_length=40)
    node: str = Field(primary_key=True, max_length=40)
    amp_h: float
    watt_h: float
    hours: float


class ChargeCounter(SQLModel, table=True):
    """The last word of a node on a supply that was counted. Written with the day's sum in one transaction."""

    __tablename__ = "charge_counter"

    venue: str = Field(primary_key=True, max_length=40)
    node: str = Field(primary_key=True, max_length=40)
    supply: str = Field(primary_key=True, max_length=40)
    boot_id: str = Field(max_length=32)
    charge_ah: float
    uptime_s: float
    heard_at_s: float
    ended_boots: str = Field(max_length=33 * MAX_ENDED_BOOTS)
