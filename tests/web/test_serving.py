"""Listening: what is answered goes out at once."""

import asyncio
import socket
from concurrent.futures import ThreadPoolExecutor

from app.web.serving import listen


def test_an_answer_does_not_wait_for_the_receipt_of_its_head() -> None:
    """Head and body are written one after the other; unless small pieces go at once the body comes 40 ms later."""

    async def at_once() -> bool:
        loop = asyncio.get_running_loop()
        accepted: asyncio.Future[bool] = loop.create_future()

        def note(_: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            connection: socket.socket = writer.get_extra_info("socket")
            accepted.set_result(bool(connection.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)))
            writer.close()

        listening = listen(everywhere=False, port=0)
        async with await asyncio.start_server(note, sock=listening):
            with socket.create_connection(listening.getsockname()):
                return await accepted

    # In a thread, for browser tests of the same process leave a loop in this one.
    with ThreadPoolExecutor(1) as thread:
        assert thread.submit(lambda: asyncio.run(at_once())).result()
