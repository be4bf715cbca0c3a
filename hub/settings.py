"""The hub's settings, checked as a whole before anything starts."""

from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Port = Annotated[int, Field(ge=0, le=65_535)]


class Settings(BaseModel):
    """What `stringcourse up` takes. Port 0 lets the system choose (tests and rehearsals)."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    data_dir: Annotated[Path, Field(description="Folder of the database, the broker's store and the credentials.")]
    host: Annotated[str, Field(description="Address that API and page bind to.")] = "127.0.0.1"
    port: Annotated[Port, Field(description="Port of API and page.")] = 8460
    database_url: Annotated[str | None, Field(description="SQLAlchemy URL; without it, SQLite in the data folder.")] = (
        None
    )
    broker_url: Annotated[
        str | None, Field(description="mqtt:// or mqtts:// URL of the user's own broker; without it, the embedded one.")
    ] = None
    broker_host: Annotated[str, Field(description="Address that the embedded broker binds to.")] = "127.0.0.1"
    broker_port: Annotated[Port, Field(description="MQTT port of the embedded broker.")] = 8461
    telemetry_interval_s: Annotated[float, Field(ge=0.2, le=3_600, description="How often nodes report.")] = 5.0

    @property
    def resolved_database_url(self) -> str:
        return self.database_url or f"sqlite:///{self.data_dir / 'hub.sqlite3'}"
