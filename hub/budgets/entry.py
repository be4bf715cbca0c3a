"""What the ledger knows of one node: an immutable record, replaced as a whole."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from schemas import Budget, GrantHeld

Amounts = Mapping[str, int]
"""Milliamps by supply."""

LARGEST_NUMBER: Final = 2**53 - 1


@dataclass(frozen=True, slots=True)
class Entry:
    """`number` is that of the newest grant, 0 before the first; `granted` its content, made for boot `boot_id`.

    `reserved`: the most that the node may be under, supply by supply: the most of all that it was granted since the
    number that it last confirmed. `known`: it has confirmed a number of this ledger, or was first heard holding none.
    `released`: a person said that the board is off for good; until it is heard again nothing is reserved for it.
    """

    number: int = 0
    confirmed: int = 0
    boot_id: str | None = None
    granted: Amounts = field(default_factory=dict)
    reserved: Amounts = field(default_factory=dict)
    heard: bool = False
    known: bool = False
    released: bool = False

    @property
    def unconfirmed(self) -> bool:
        return self.confirmed < self.number

    def issued(self, granted: Amounts, boot_id: str | None) -> "Entry":
        """The next grant."""
        return replace(
            self,
            number=self.number + 1,
            boot_id=boot_id,
            granted=granted,
            reserved=highest(self.reserved, granted),
        )

    def confirm(self) -> "Entry":
        """The node is under the newest grant, and will never go back behind it."""
        return replace(self, confirmed=self.number, reserved=self.granted, known=True)

    def release(self) -> "Entry":
        """Nothing is reserved any more; an empty grant waits for the board, should it come back."""
        return replace(
            self, number=self.number + 1, boot_id=None, granted={}, reserved={}, known=True, released=True, heard=False
        )


def highest(some: Amounts, others: Amounts) -> dict[str, int]:
    """The higher of two amounts, supply by supply; those that are nothing left out."""
    both = {supply: max(some.get(supply, 0), others.get(supply, 0)) for supply in some.keys() | others.keys()}
    return {supply: amount for supply, amount in both.items() if amount > 0}


def amounts_held(held: GrantHeld) -> dict[str, int]:
    """Milliamps that a node says it holds."""
    return {one.supply: round(one.budget_a * 1_000) for one in held.supplies if one.budget_a > 0}


def budgets_of(granted: Amounts) -> tuple[Budget, ...]:
    """Amounts as a grant carries them."""
    return tuple(Budget(supply=supply, budget_a=amount / 1_000) for supply, amount in sorted(granted.items()))
