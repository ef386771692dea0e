"""The database under a job store: where it is, its tables, and its errors in words.

A store made by a newer program is refused, and a database of another program is left as
it is, down to the last byte.
"""

from __future__ import annotations

import os
import sqlite3
import stat
import sys
import time
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from backprobe.errors import Problem, StoreError

SCHEMA = 1
BUSY_MS = 5000


def _texts(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


TABLES = sa.MetaData()
META = sa.Table(
    "meta",
    TABLES,
    sa.Column("key", sa.Text, primary_key=True),
    *_texts("value"),
    sqlite_strict=True,
)
JOBS = sa.Table(
    "jobs",
    TABLES,
    sa.Column("serial", sa.Integer, primary_key=True),  # the order in which they came
    sa.Column("id", sa.Text, unique=True, nullable=False),
    *_texts("title", "machine", "sheet_name", "sheet_text"),
    sqlite_strict=True,
)
ENTRIES = sa.Table(
    "entries",
    TABLES,
    sa.Column("job", sa.ForeignKey("jobs.id"), primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True),
    *_texts("kind", "at", "data"),
    sqlite_strict=True,
)

# REPLACE deletes rows without firing delete triggers, so inserts are guarded as well.
_GAP = "NEW.number IS NOT (SELECT coalesce(max(number), 0) + 1 FROM entries WHERE job = NEW.job)"
_TAKEN = "EXISTS (SELECT 1 FROM jobs WHERE id = NEW.id OR serial = NEW.serial)"
_TRIGGERS = [
    f"CREATE TRIGGER {table}_{verb} BEFORE {verb} ON {table} WHEN {bad} "
    f"BEGIN SELECT RAISE(ABORT, '{table} are append-only'); END"
    for table, insert in (("entries", _GAP), ("jobs", _TAKEN))
    for verb, bad in (("INSERT", insert), ("UPDATE", "1"), ("DELETE", "1"))
]

_SAFE = "nothing was written and nothing is lost"
_ELSEWHERE = "Name another file or set BACKPROBE_STORE"
_CAUSES = {  # by SQLite's own name of the error
    "NOTADB": ("is not a job store", _ELSEWHERE),
    "CORRUPT": ("is damaged", "Keep a copy of it, then put the last good copy in its place"),
    "CANTOPEN": ("cannot be opened", f"Check the folder and its permissions. {_ELSEWHERE}"),
    "READONLY": ("may be read but not written", f"Make it writable and repeat: {_SAFE}"),
    "BUSY": (
        f"is in use by another program for {BUSY_MS / 1000:g} s already",
        f"Close that one and repeat: {_SAFE}",
    ),
    "FULL": ("cannot grow, the disk is full", f"Free some space and repeat: {_SAFE}"),
    "IOERR": ("cannot be reached, the disk reports an error", f"Check the disk. {_ELSEWHERE}"),
}


def default_place(system: str = "") -> str:
    """Return where jobs are kept when nobody says: BACKPROBE_STORE, or the platform's custom."""
    system = system or sys.platform
    if chosen := os.environ.get("BACKPROBE_STORE"):
        return chosen
    if system == "darwin":
        folder = Path.home() / "Library" / "Application Support" / "Backprobe"
    elif system == "win32":
        local = os.environ.get("LOCALAPPDATA")
        folder = (Path(local) if local else Path.home() / "AppData" / "Local") / "Backprobe"
    else:
        share = Path(os.environ.get("XDG_DATA_HOME", ""))  # a relative one does not count
        folder = (share if share.is_absolute() else Path.home() / ".local/share") / "backprobe"
    return str(folder / "jobs.sqlite")


def place(target: str) -> tuple[str, Path | None]:
    """Return the target and, when it is a file, its path."""
    if target == ":memory:":
        return target, None
    if "://" not in target:
        return target, Path(target).expanduser()
    url = sa.make_url(target)
    if url.get_backend_name() == "postgresql":
        return target, None
    if url.get_backend_name() != "sqlite":
        raise sa.exc.ArgumentError("neither SQLite nor PostgreSQL")
    return place(url.database or ":memory:")


def is_file_there(path: Path) -> bool:
    """Tell whether the file of a store exists; refuse a folder or a path that leads nowhere."""
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return False
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        shown = str(path).replace("\0", "\\0")
        raise store_error(shown, f"cannot be reached ({reason})", _ELSEWHERE) from None
    if stat.S_ISDIR(mode):
        raise store_error(str(path), "is a folder", "Name a file in it")
    return True


def _connect(database: str) -> sqlite3.Connection:
    raw = sqlite3.connect(database, isolation_level=None, check_same_thread=False)
    try:
        for pragma in (f"busy_timeout={BUSY_MS}", "foreign_keys=ON", "synchronous=FULL"):
            raw.execute(f"PRAGMA {pragma}")
        tables = {name for (name,) in raw.execute("SELECT name FROM sqlite_master")}
        if not tables or "meta" in tables:  # leave the file of another program as it is
            _use_wal(raw)
    except BaseException:
        raw.close()
        raise
    return raw


def _use_wal(raw: sqlite3.Connection) -> None:
    deadline = time.monotonic() + BUSY_MS / 1000
    while True:
        try:
            raw.execute("PRAGMA journal_mode=WAL")
            return
        except sqlite3.OperationalError as error:
            # Two programs that make the same new file at once: SQLite does not wait here.
            if error.sqlite_errorname != "SQLITE_BUSY" or time.monotonic() > deadline:
                raise
            time.sleep(0.01)


def _begin(connection: sa.Connection) -> None:
    # A writer takes its lock before it reads the last number, so numbers never clash.
    mode = connection.get_execution_options().get("begin", "DEFERRED")
    connection.exec_driver_sql(f"BEGIN {mode}")


def open_engine(text: str) -> tuple[sa.Engine, Path | None]:
    """Return the engine of a store, and its path when it is a file; nothing is made yet."""
    try:
        target, path = place(text)
        engine = sa.create_engine(target) if _is_server(target, path) else _sqlite_engine(target, path)
    except ModuleNotFoundError as error:
        message = f"needs the Python package {error.name}"
        raise store_error(_scheme(text), message, "Install backprobe[postgresql]") from None
    except (sa.exc.ArgumentError, ValueError):  # a bad port is a ValueError
        remedy = "Write postgresql+psycopg://user@host/database, or the name of a file"
        raise store_error(_scheme(text), "is not a database URL", remedy) from None
    if path:
        is_file_there(path)
    return engine, path


def _is_server(target: str, path: Path | None) -> bool:
    return path is None and target != ":memory:"


def _scheme(url: str) -> str:
    return url.partition("://")[0] + "://..."  # the rest may hold a password


def _sqlite_engine(target: str, path: Path | None) -> sa.Engine:
    # One connection is the whole of a database in memory: threads take turns on it.
    size: dict[str, Any] = {} if path else {"pool_size": 1, "max_overflow": 0}
    name = str(path or target)
    engine = sa.create_engine("sqlite://", creator=lambda: _connect(name), poolclass=sa.QueuePool, **size)
    sa.event.listen(engine, "begin", _begin)
    return engine


def is_built(connection: sa.Connection, name: str) -> bool:
    """Tell whether the tables are there; refuse a database that is not a job store of ours."""
    tables = set(sa.inspect(connection).get_table_names())
    if not tables:
        return False
    if not tables >= set(TABLES.tables):
        raise store_error(name, "is a database of another program", _ELSEWHERE)
    found = connection.scalar(sa.select(META.c.value).where(META.c.key == "schema"))
    try:
        version = int(str(found))
    except ValueError:
        raise store_error(name, "does not say its schema version", _ELSEWHERE) from None
    if version > SCHEMA:
        message = f"was made by a newer program (schema {version}, this one knows {SCHEMA})"
        raise store_error(name, message, "Update Backprobe; the file is left as it is")
    return True


def build(connection: sa.Connection) -> None:
    """Make the tables, in the transaction of the first entry."""
    TABLES.create_all(connection, checkfirst=False)
    if connection.dialect.name == "sqlite":
        for trigger in _TRIGGERS:
            connection.exec_driver_sql(trigger)
    connection.execute(sa.insert(META).values(key="schema", value=str(SCHEMA)))


def store_error(name: str, message: str, remedy: str) -> StoreError:
    """Make the error of a store: which one, what is wrong, what would be right."""
    return StoreError(Problem("", "", message, remedy, file=name))


def damaged(name: str) -> StoreError:
    """Make the error of a store whose content cannot be what was written."""
    return store_error(name, *_CAUSES["CORRUPT"])


def explain(error: sa.exc.SQLAlchemyError | UnicodeDecodeError, name: str) -> StoreError:
    """Say a database's error in words a mechanic can act on."""
    if isinstance(error, UnicodeDecodeError):  # a damaged name of a table, in SQLite's own message
        return damaged(name)
    cause = getattr(error, "orig", None) or error
    code = str(getattr(cause, "sqlite_errorname", "")).removeprefix("SQLITE_").split("_")[0]
    if code in _CAUSES:
        return store_error(name, *_CAUSES[code])
    reason = (str(cause).strip().splitlines() or [type(cause).__name__])[0]
    return store_error(name, f"cannot be used ({reason})", f"Nothing was written. {_ELSEWHERE}")
