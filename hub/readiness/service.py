"""What the hub stands on: its database, its link to the broker, its fleet loop."""

import threading
import time
from collections.abc import Callable
from typing import Final

from pydantic import BaseModel, Field
from sqlalchemy import Engine, text
from sqlalchemy.exc import SQLAlchemyError

from hub.errors import HubError

KEPT_S: Final = 1.0


class ReadinessView(BaseModel):
    """Which part is at fault, and nothing more: strangers may read it."""

    ready: bool = Field(description="All of the parts are.")
    database: bool
    broker: bool
    loop: bool = Field(description="The loop that hears the nodes turns.")


class ReadinessService:
    """However many ask at once, one of them asks the database, once a second; the others have its answer."""

    def __init__(self, engine: Engine, link_is_up: Callable[[], bool], loop_turns: Callable[[], bool]) -> None:
        self._engine = engine
        self._link_is_up = link_is_up
        self._loop_turns = loop_turns
        self._asking = threading.Lock()
        self._asked_s = -KEPT_S
        self._database = False

    def look(self) -> ReadinessView:
        database, broker, loop = self._database_answers(), self._link_is_up(), self._loop_turns()
        return ReadinessView(ready=database and broker and loop, database=database, broker=broker, loop=loop)

    def _database_answers(self) -> bool:
        if time.monotonic() - self._asked_s >= KEPT_S and self._asking.acquire(blocking=False):
            try:
                with self._engine.connect() as connection:
                    connection.execute(text("SELECT 1"))
                self._database = True
            except (HubError, SQLAlchemyError):
                self._database = False
            finally:
                self._asked_s = time.monotonic()
                self._asking.release()
        return self._database
