"""Listening, saying where, and serving until stopped."""

import ctypes
import io
import socket
import threading
from contextlib import suppress
from types import FrameType
from typing import Any

import segno
import uvicorn

from app.engine.ready import get_ready
from app.web.sweeping import leave_out

EVERYWHERE, HERE = "0.0.0.0", "127.0.0.1"
LONGEST_END_S = 10  # what is under way when it is stopped may take
TRIM_THRESHOLD, MMAP_THRESHOLD = -1, -3  # of <malloc.h>
KEPT_BYTES, LARGE_BYTES = 16 << 20, 4 << 20  # freed at the end of what is used; one by one, what is larger


def listen(*, everywhere: bool, port: int) -> socket.socket:
    """A socket on this port, of all addresses or of this machine alone.

    Raises OSError, with what to do, when the port is taken.
    """
    # Said to be TCP in so many words: the loop lets small pieces go at once only on sockets that say so. Otherwise what
    # follows an answer's head waits for the browser's receipt of it, which comes 40 ms later.
    sock = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        sock.bind((EVERYWHERE if everywhere else HERE, port))
        sock.listen()  # who follows the printed link at once waits a moment, and is not turned away
    except OSError as error:
        sock.close()
        raise OSError(f"port {port} cannot be used ({error.strerror}); give another with --port") from error
    return sock


def announcement(sock: socket.socket, token: str | None, *, everywhere: bool) -> str:
    """Where to go, with the link when it was made just now, for only its hash is kept."""
    port = sock.getsockname()[1]
    path = f"/link/{token}" if token else "/"
    lines = [f"Loadstead is at  http://localhost:{port}{path}"]
    if everywhere:
        address = f"http://{network_address()}:{port}{path}"
        lines += [f"From a phone     {address}", "", qr_code(address)]
        lines += ["Whoever has this link owns the households here. Show it to nobody else."]
    elif token:
        lines += ["This link is the owner's; keep it. Opened once, the browser remembers it."]
    else:
        lines += ["It opens in a browser that has opened its link before; --new-link makes another link."]
    return "\n".join([*lines, "Stop it with Ctrl+C."])


def network_address() -> str:
    """This machine's address on its network, as far as it can tell; nothing is sent to find out."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("203.0.113.1", 9))  # an address set aside for examples
            return str(probe.getsockname()[0])
        except OSError:
            return f"{socket.gethostname()}.local"


def qr_code(text: str) -> str:
    """A QR code in half blocks, for a terminal."""
    drawn = io.StringIO()
    segno.make(text, error="l", micro=False).terminal(drawn, compact=True)
    return drawn.getvalue()


def serve(app: Any, sock: socket.socket) -> None:
    """Serve until stopped. Addresses are not logged, for a link's token is part of one."""
    settle()
    threading.Thread(target=_get_ready, daemon=True).start()
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, timeout_graceful_shutdown=LONGEST_END_S
    )
    _Server(config, app).run(sockets=[sock])


def _get_ready() -> None:
    """Load beside the first pages what the first odds would have to wait for."""
    get_ready()
    settle()


def settle() -> None:
    """Leave what the program itself consists of out of every later sweep, and keep the memory that answers need."""
    leave_out()
    _keep_memory()


def _keep_memory() -> None:
    """Keep what is freed for the next answer, where the C library would hand it back to the system at once.

    It asks for some megabytes and frees them, over and over; to get them anew, page by page, took a tenth of its time.
    Only the GNU library knows these two settings (`mallopt`); others do as they do.
    """
    with suppress(OSError, AttributeError, TypeError):
        mallopt = ctypes.CDLL(None).mallopt
        mallopt(TRIM_THRESHOLD, KEPT_BYTES)
        mallopt(MMAP_THRESHOLD, LARGE_BYTES)


class _Server(uvicorn.Server):
    """Lets the pages go that wait for news before it waits for whatever is under way."""

    def __init__(self, config: uvicorn.Config, app: Any) -> None:
        super().__init__(config)
        self._app = app

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Stop, told by a signal."""
        self._app.state.watch.close()
        super().handle_exit(sig, frame)
