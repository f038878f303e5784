"""Starting the desk: a free port on the loopback address, the opening address, the builder's browser."""

from __future__ import annotations

import contextlib
import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn

from nesting.desk.guard import Keys
from nesting.desk.routes import application
from nesting.desk.workshop import Workshop
from vectorize.basics.errors import CallError, WriteError

LOOPBACK = "127.0.0.1"
_GRACE_S = 1
_MOST_WAITING = 256


def serve(folder: Path, *, port: int = 0, opens_browser: bool = True, say: Callable[[str], None]) -> None:
    """Serve the desk for the job in `folder` until the process is stopped.

    Args:
        folder: The job folder; it is made when it is not there, and may be empty.
        port: Port on the loopback address, 0 for any that is free.
        opens_browser: Also open the address in the builder's browser.
        say: Told the opening address, which works once.

    Raises:
        CallError: The port is taken.
        WriteError: The folder cannot be made.
    """
    _need_folder(folder)
    listener = _listening(port)
    keys = Keys(listener.getsockname()[1])
    workshop = Workshop(folder)
    settings = uvicorn.Config(
        application(workshop, keys),
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=_GRACE_S,
        ws="none",
        lifespan="off",
    )
    say(f"The desk is open at {keys.address}")
    say("The address works once, in one browser on this machine. Stop with Ctrl+C; everything is saved as you go.")
    workshop.open()
    if opens_browser:
        with contextlib.suppress(webbrowser.Error):
            webbrowser.open(keys.address)
    try:
        _Server(settings, workshop).run(sockets=[listener])
    except KeyboardInterrupt:
        pass  # uvicorn passes the signal on after it has shut down
    finally:
        workshop.close()


class _Server(uvicorn.Server):
    """A server that ends what pages still wait for before it waits for them, instead of breaking it off."""

    def __init__(self, config: uvicorn.Config, workshop: Workshop) -> None:
        super().__init__(config)
        self._workshop = workshop

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self._workshop.close()
        await super().shutdown(sockets)


def _need_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WriteError(f"cannot make the folder {folder}: {error.strerror or error}.") from error


def _listening(port: int) -> socket.socket:
    # Named as TCP, or asyncio would not send at once: an answer in two pieces then waits 40 ms for the other side's
    # delayed acknowledgement.
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((LOOPBACK, port))
        # Listening before the address is told: a browser that is quick to come waits instead of being turned away.
        listener.listen(_MOST_WAITING)
    except (OSError, OverflowError) as error:
        listener.close()
        raise CallError(
            f"port {port} cannot be used ({error}); choose another with --port, or leave it out."
        ) from error
    return listener
