"""Whoever tries links that nobody was given waits longer and longer for the answer; links that are right never do.

Kept in memory and bounded: a few figures for each of the addresses that tried last. A household behind one address is
not locked out by a stranger there, for nothing is refused or delayed but what was wrong anyway.
"""

import asyncio
import ipaddress
import time
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from fastapi import HTTPException
from starlette.requests import Request

FREE = 5  # tries that are answered at once: a torn link, an old bookmark
FIRST_S, LONGEST_S = 0.5, 16.0  # each further try waits twice as long as the one before
FORGOTTEN_S = 60.0  # after which one try is forgotten
WAITING_AT_MOST = 8  # answers that one address waits for at the same time; more are refused at once
ADDRESSES_AT_MOST = 2048


@dataclass
class _Tries:
    count: float = 0.0
    at_s: float = 0.0
    waiting: int = 0


class Knocks:
    """Wrong tries by the address they come from. clock: seconds that only grow; sleep: as `asyncio.sleep`."""

    def __init__(
        self, clock: Callable[[], float] = time.monotonic, sleep: Callable[[float], Awaitable[object]] = asyncio.sleep
    ) -> None:
        self._clock, self._sleep = clock, sleep
        self._by_address: OrderedDict[str, _Tries] = OrderedDict()

    def __len__(self) -> int:
        return len(self._by_address)

    async def wrong(self, address: str) -> None:
        """Count a wrong try, and wait as long as it deserves.

        Raises HTTPException 429 where too many of that address wait already.
        """
        tries = self._of(address)
        now_s = self._clock()
        tries.count = max(tries.count - (now_s - tries.at_s) / FORGOTTEN_S, 0.0) + 1
        tries.at_s = now_s
        delay_s = self.delay_s(tries.count)
        if not delay_s:
            return
        if tries.waiting >= WAITING_AT_MOST:
            raise HTTPException(429, str(round(delay_s)), headers={"Retry-After": str(round(delay_s))})
        tries.waiting += 1
        try:
            await self._sleep(delay_s)
        finally:
            tries.waiting -= 1

    @staticmethod
    def delay_s(count: float) -> float:
        """How long the answer to the so manieth try is kept back.

        >>> [Knocks.delay_s(count) for count in (1, 5, 6, 7, 8, 100)]
        [0.0, 0.0, 0.5, 1.0, 2.0, 16.0]
        """
        over = round(count) - FREE
        return 0.0 if over < 1 else float(min(FIRST_S * 2 ** min(over - 1, 10), LONGEST_S))

    def _of(self, address: str) -> _Tries:
        tries = self._by_address.setdefault(address, _Tries(at_s=self._clock()))
        self._by_address.move_to_end(address)
        while len(self._by_address) > ADDRESSES_AT_MOST:
            self._by_address.popitem(last=False)
        return tries


def address_of(request: Request) -> str:
    """Where a request comes from: an address or, as one subscriber has millions of the newer kind, its network."""
    host = request.client.host if request.client else ""
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return host
    if isinstance(address, ipaddress.IPv4Address):
        return host
    mapped = address.ipv4_mapped
    return str(mapped) if mapped else str(ipaddress.ip_network((address, 64), strict=False))
