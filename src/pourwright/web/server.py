"""Running the app: one server for a data folder, found again when it is opened twice."""

from __future__ import annotations

import contextlib
import gc
import json
import os
import socket
import threading
import time
import webbrowser
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import IO, Any

from pourwright.errors import InputError
from pourwright.store.files import write_whole
from pourwright.web.settings import Settings


class Open(InputError):
    """The folder is served already; `address` [-] says where."""

    address = ""


@contextlib.contextmanager
def only_one(data: Path) -> Iterator[None]:
    """Hold the folder `data` [-] for this server alone; raises `Open` when another one does."""
    data.mkdir(parents=True, exist_ok=True, mode=0o700)
    path = data / "server.lock"
    with path.open("a+", encoding="utf-8") as f:
        if not _lock(f):
            err = Open(
                "data", str(data), "the app runs on it already", "Open the address it printed."
            )
            with contextlib.suppress(OSError, ValueError):
                told = json.loads((data / "server.json").read_text("utf-8"))
                err.address = str(told["address"])
            raise err
        try:
            yield
        finally:
            (data / "server.json").unlink(missing_ok=True)


def _lock(f: IO[str]) -> bool:
    """Lock an open file; the system lets go of it when the process ends, however it ends."""
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(f.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        else:
            import fcntl

            fcntl.flock(f, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def bind(host: str, port: int) -> socket.socket:
    """A listening socket on `host` and `port` [-]; port 0 takes a free one."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    s = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)  # so that Nagle is off
    if os.name != "nt":
        s.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        s.bind((host, port))
    except OSError as err:
        s.close()
        raise InputError(
            "--port", port, err.strerror or "it is taken", "Choose another port, or 0 for any."
        ) from None
    s.listen(256)
    s.set_inheritable(False)
    return s


@contextlib.contextmanager
def no_collection() -> Iterator[None]:
    """Start without the garbage collector: what is loaded now stays to the end anyway.

    Collections while some thousand classes are built took a quarter of the start. Afterwards the
    start's objects are set aside for good, so that later collections are short.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        if was:
            gc.enable()


def serve(settings: Settings, open_: bool, say: Callable[[Settings, str], None]) -> None:
    """Serve the app until it is stopped.

    Parameters
    ----------
    settings : Settings [-]
        Where and for whom.
    open_ : bool [-]
        Open a browser.
    say : callable [settings, address]
        Called once it listens.

    Raises
    ------
    InputError
        The port is taken, the data cannot be used; `Open` when the folder is served already.
    """
    with no_collection():
        import uvicorn

        from pourwright.web import network
        from pourwright.web.app import create_app

    with only_one(settings.data):
        host = "0.0.0.0" if settings.lan and settings.host == "127.0.0.1" else settings.host
        listening = bind(host, settings.port)
        port = int(listening.getsockname()[1])
        settings = replace(settings, port=port)
        with no_collection():
            app = create_app(settings)
        tls: dict[str, Any] = {}
        if settings.https:
            pem, key = network.certificate(settings.data, network.host_names(settings))
            tls = {"ssl_certfile": str(pem), "ssl_keyfile": str(key)}
        config = uvicorn.Config(
            app,
            log_level="warning",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            timeout_keep_alive=30,
            timeout_graceful_shutdown=3,
            limit_concurrency=400,
            h11_max_incomplete_event_size=65_536,
            **tls,
        )
        server = uvicorn.Server(config)
        address = f"{'https' if settings.https else 'http'}://127.0.0.1:{port}/"
        write_whole(settings.data / "server.json", json.dumps({"address": address}))
        threading.Thread(
            target=_when_up, args=(server, settings, address, open_, say), daemon=True
        ).start()
        server.run(sockets=[listening])


def _when_up(
    server: Any, settings: Settings, address: str, open_: bool, say: Callable[[Settings, str], None]
) -> None:
    while not server.started:
        if server.should_exit:
            return
        time.sleep(0.01)
    say(settings, address)
    if open_:
        with contextlib.suppress(webbrowser.Error):
            webbrowser.open(address)
