"""The grant: the amps of each supply that one node may draw now. The hub counts grants up; a node obeys the newest.

A body's budgets are the whole of each supply. What a node may take of them is its grant, and only a grant can raise it.
"""

from typing import Annotated, Literal

from pydantic import Field

from schemas.bounds import MAX_SUPPLIES_PER_GRANT
from schemas.contract import Contract, Id, Token
from schemas.desired import Budget

GrantNumber = Annotated[
    int, Field(ge=1, le=2**53 - 1, description="Counts up per node and is never used again, whatever becomes of it.")
]
Granted = Annotated[tuple[Budget, ...], Field(max_length=MAX_SUPPLIES_PER_GRANT)]


class Grant(Contract):
    """The retained document on `node/<id>/grant`: all supplies at once; of a supply that it does not name, nothing.

    A node obeys it only if its number is above that of the grant it holds; one that holds none, only if `boot_id` is
    its own: an older message still on its way must not give a fresh board what its predecessor gave up.
    """

    schema_version: Literal[1] = 1
    venue: Id
    node: Id
    number: GrantNumber
    boot_id: Annotated[Token | None, Field(description="The boot of the node that it was made for.")] = None
    supplies: Granted = ()


class GrantHeld(Contract):
    """The grant that a node keeps on its disk and limits by."""

    number: GrantNumber
    supplies: Granted = ()
    on_wires: Annotated[
        bool,
        Field(description="Whether every data line has sent a frame under it: pixels hold older light until then."),
    ] = False
