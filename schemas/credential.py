"""The file that lets a board's agent in: where the broker is, who the node is, and its secret."""

from typing import Annotated

from pydantic import Field, StringConstraints

from schemas.contract import Contract, Id


class NodeCredential(Contract):
    """Kept with mode 0600 on the board. The secret opens this node's own topics and `all/`, nothing else."""

    venue: Id
    node: Id
    broker_url: Annotated[
        str,
        StringConstraints(pattern=r"^mqtts?://[^\s/@]{1,255}$"),
        Field(description="mqtt://host:port or mqtts://host:port, without user or path"),
    ]
    username: Annotated[str, StringConstraints(pattern=r"^[a-z0-9._-]{1,90}$")]
    secret: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{32,128}$")]
