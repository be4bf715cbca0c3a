"""A PostgreSQL of the tests' own, or the reason why there is none; each test gets an empty schema in it."""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

import pytest
from sqlalchemy import Connection, create_engine, make_url, text

from tests.processes import free_port

VARIABLE = "STRINGCOURSE_TEST_POSTGRES"
DEBIAN = Path("/usr/lib/postgresql")
_number = count(1)


def _program(name: str) -> Path | None:
    newest_first = sorted(DEBIAN.glob(f"*/bin/{name}"), key=lambda path: int(path.parts[-3]), reverse=True)
    if newest_first:
        return newest_first[0]
    found = shutil.which(name)
    return Path(found) if found else None


@contextmanager
def postgres_server() -> Iterator[str]:
    """URL of a database on a running server; skips the test where no PostgreSQL can be had."""
    if VARIABLE in os.environ:
        yield os.environ[VARIABLE]
        return
    initdb, pg_ctl = _program("initdb"), _program("pg_ctl")
    if initdb is None or pg_ctl is None:
        pytest.skip(f"{VARIABLE} names no PostgreSQL, and Debian's package `postgresql` is not installed")
    user = "nobody" if os.geteuid() == 0 else None  # PostgreSQL refuses to run as root
    with tempfile.TemporaryDirectory(prefix="stringcourse-postgres-") as name:
        folder = Path(name)
        if user is not None:
            os.chown(folder, pwd.getpwnam(user).pw_uid, -1)
        data, port = folder / "data", free_port()

        def run(*command: str | Path) -> None:
            subprocess.run(
                [str(part) for part in command],
                user=user,
                cwd=folder,
                check=True,
                stdout=subprocess.DEVNULL,
                timeout=60,
            )

        run(initdb, "--no-sync", "--auth=trust", "--username=hub", "--encoding=UTF8", "--locale=C", "-D", data)
        options = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder} -c fsync=off"
        run(pg_ctl, "start", "-w", "-D", data, "-l", folder / "log", "-o", options)
        try:
            yield f"postgresql://hub@127.0.0.1:{port}/postgres"
        finally:
            run(pg_ctl, "stop", "-w", "-m", "immediate", "-D", data)


@contextmanager
def empty_schema(server: str) -> Iterator[str]:
    """URL of a schema that nobody else uses, dropped at the end. Its connections bear the schema's name."""
    engine = create_engine(make_url(server).set(drivername="postgresql+psycopg"))
    schema = f"stringcourse_test_{os.getpid()}_{next(_number)}"
    with engine.begin() as connection:
        connection.execute(text(f"CREATE SCHEMA {schema}"))
    try:
        own = make_url(server).update_query_dict({"options": f"-csearch_path={schema}", "application_name": schema})
        yield own.render_as_string(hide_password=False)
    finally:
        with engine.begin() as connection:
            _end_connections(connection, schema)  # a process that was killed may not have ended its own yet
            connection.execute(text(f"DROP SCHEMA {schema} CASCADE"))
        engine.dispose()


def cut_connections(url: str) -> int:
    """End every connection to a schema, as a restart of the server does; how many there were."""
    engine = create_engine(make_url(url).set(drivername="postgresql+psycopg", query={}))
    with engine.begin() as connection:
        cut = _end_connections(connection, str(make_url(url).query["application_name"]))
    engine.dispose()
    return cut


def _end_connections(connection: Connection, application_name: str) -> int:
    theirs = "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE application_name = :name"
    return len(connection.execute(text(theirs), {"name": application_name}).all())
