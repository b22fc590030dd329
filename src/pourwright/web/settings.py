"""How the app is run: where its data lies, who may reach it, how many workers."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass, field
from pathlib import Path

PORT = 8737


def usual_folder() -> Path:
    """Where the data lies when nothing else is said [-]: the user's own data folder."""
    home = Path.home()
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", home / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME", home / ".local" / "share"))
    return base / "pourwright"


@dataclass(frozen=True)
class Settings:
    """Settings of one run.

    `data` is the folder (database, keys, certificate, backups); `database` a URL when the jobs
    are kept elsewhere. `lan` opens the app to the network, behind a pass phrase. `workers` False
    leaves long work in its queue (for tests that need none).
    """

    data: Path = field(default_factory=usual_folder)
    database: str = ""
    host: str = "127.0.0.1"
    port: int = PORT
    lan: bool = False
    https: bool = False
    names: tuple[str, ...] = ()
    """Further host names and addresses that the app may be called by."""
    workers: bool = True
    demo: bool = True
    """Load the demo jobs when the store is new."""
    prepare: bool = True
    """Plan the demo jobs at once, so that the first look shows something."""
    largest_body: int = 8_000_000
    largest_upload: int = 30_000_000
    largest_backup: int = 4_000_000_000

    @property
    def place(self) -> str:
        """Where the store is [-]: its URL or its folder."""
        return self.database or str(self.data)
