"""Flash checks in the database, so that a hub that starts again need not make them again."""

import hashlib
import logging
import time
from functools import cache
from pathlib import Path
from typing import Final

from pydantic import ValidationError
from sqlalchemy import Engine, delete
from sqlalchemy.exc import IntegrityError, SQLAlchemyError
from sqlmodel import Session, col, select

import hub.desired
import hub.scenes
import node_agent.render
import schemas
from hub.scenes.flash.report import FlashReport
from hub.scenes.models import FlashCheck

MOST_KEPT: Final = 2_000

_log = logging.getLogger(__name__)


@cache
def code_sha256() -> str:
    """Of the code that a report rests on: what another version of it saw tells nothing of this one."""
    digest = hashlib.sha256()
    board = Path(node_agent.render.__path__[0]).parent
    for folder in (Path(schemas.__path__[0]), board, Path(hub.desired.__path__[0]), Path(hub.scenes.__path__[0])):
        for file in sorted(folder.rglob("*.py")):
            digest.update(file.read_bytes())
    return digest.hexdigest()


class FlashStore:
    """A check is worth some seconds: whatever keeps it from being read or kept is logged, and the check made."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def report(self, sha256: str) -> FlashReport | None:
        try:
            with Session(self._engine) as session:
                row = session.get(FlashCheck, sha256)
                return None if row is None else FlashReport.model_validate_json(row.report)
        except (SQLAlchemyError, ValidationError) as error:
            _log.warning("a flash check cannot be read, and is made anew reason=%s", type(error).__name__)
            return None

    def keep(self, sha256: str, report: FlashReport) -> None:
        row = FlashCheck(sha256=sha256, made_at_ms=round(time.time() * 1_000), report=report.model_dump_json())
        try:
            with Session(self._engine) as session:
                session.add(row)
                newest = select(FlashCheck.sha256).order_by(col(FlashCheck.made_at_ms).desc()).limit(MOST_KEPT)
                session.execute(delete(FlashCheck).where(col(FlashCheck.sha256).not_in(newest)))
                session.commit()
        except IntegrityError:
            pass  # another hub process kept the same
        except SQLAlchemyError as error:
            _log.warning("a flash check cannot be kept reason=%s", type(error).__name__)
