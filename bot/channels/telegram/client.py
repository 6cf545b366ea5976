"""The library's requests by aiohttp: its own client spends most of a message's processor time in its connection pool.

What is said of a request that failed keeps apart what surely never left (see `NOT_SENT`) and what may have arrived.
"""

import ssl
from functools import cache
from typing import Any, NamedTuple
from urllib.request import getproxies, proxy_bypass

import aiohttp
import certifi
from telegram.error import NetworkError, TimedOut
from telegram.request import BaseRequest, RequestData
from yarl import URL

Answer = tuple[int, bytes]
"""Status and body."""
Seconds = Any
"""A number, None for no limit, or the library's own mark for what it was not told."""

NOT_SENT = (
    aiohttp.ConnectionTimeoutError,
    aiohttp.ClientConnectorError,
    aiohttp.InvalidURL,
    RuntimeError,
)
"""Causes that strike before a request leaves: no connection in time (or none free), none at all, a client shut down."""

READ_SECONDS = 5.0
CONNECT_SECONDS = 5.0
KEPT_SECONDS = 15.0
"""How long an idle connection is kept."""
FORM = {"Content-Type": "application/x-www-form-urlencoded"}


@cache
def trusted() -> ssl.SSLContext:
    """What every client here shares: one set of trusted certificates, which takes longer to read than to use."""
    return ssl.create_default_context(cafile=certifi.where())


class Proxy(NamedTuple):
    """What stands between us and an address, as requests take it: its own address and what is said to it."""

    proxy: URL | None = None
    proxy_headers: dict[str, str] | None = None


def proxy_for(address: URL) -> Proxy:
    """The proxy that the environment names for an address: looked up once, for aiohttp would look it up for each
    request, on a thread of its own.
    """
    found = getproxies().get(address.scheme)
    if not found or proxy_bypass(address.host or ""):
        return Proxy()
    proxy = URL(found)
    if not proxy.user:
        return Proxy(proxy)
    login = aiohttp.encode_basic_auth(proxy.user, proxy.password or "")
    return Proxy(proxy.with_user(None), {"Proxy-Authorization": login})


class Client(BaseRequest):
    """At most `connections` at once; whoever finds none free waits `pool_seconds` for one."""

    def __init__(self, connections: int, pool_seconds: float) -> None:
        self._connections = connections
        self._pool_seconds = pool_seconds
        self._session: aiohttp.ClientSession | None = None
        self._is_shut = False
        self._proxy: Proxy | None = None

    @property
    def read_timeout(self) -> float:
        """How long an answer may take, unless a request says otherwise, in seconds."""
        return READ_SECONDS

    async def initialize(self) -> None:
        """Open it, also once more after it was shut."""
        self._is_shut = False

    async def shutdown(self) -> None:
        """Close its connections."""
        self._is_shut = True
        if self._session is not None:
            await self._session.close()
            self._session = None

    async def do_request(
        self,
        url: str,
        method: str,
        request_data: RequestData | None = None,
        read_timeout: Seconds = BaseRequest.DEFAULT_NONE,
        write_timeout: Seconds = BaseRequest.DEFAULT_NONE,  # noqa: ARG002 aiohttp knows none
        connect_timeout: Seconds = BaseRequest.DEFAULT_NONE,
        pool_timeout: Seconds = BaseRequest.DEFAULT_NONE,
    ) -> Answer:
        """Status and body of the answer. TimedOut and NetworkError by their causes, RuntimeError once shut."""
        connect = _or(connect_timeout, CONNECT_SECONDS)
        pool = _or(pool_timeout, self._pool_seconds)
        timeout = aiohttp.ClientTimeout(
            total=None,
            connect=None if connect is None or pool is None else connect + pool,
            sock_connect=connect,
            sock_read=_or(read_timeout, READ_SECONDS),
        )
        data, headers = _body(request_data)
        address = URL(url, encoded=True)
        self._proxy = self._proxy or proxy_for(address)
        proxy, login = self._proxy
        try:
            async with self._opened().request(
                method,
                address,
                data=data,
                headers=headers,
                timeout=timeout,
                proxy=proxy,
                proxy_headers=login,
                allow_redirects=False,
            ) as answer:
                return answer.status, await answer.read()
        except TimeoutError as error:
            raise TimedOut(f"no answer in time ({type(error).__name__})") from error
        except aiohttp.ClientError as error:
            raise NetworkError(f"the connection failed ({type(error).__name__})") from error

    def _opened(self) -> aiohttp.ClientSession:
        if self._is_shut:
            raise RuntimeError("the client is shut")
        if self._session is None:
            self._session = aiohttp.ClientSession(
                connector=aiohttp.TCPConnector(
                    limit=self._connections, ssl=trusted(), keepalive_timeout=KEPT_SECONDS, ttl_dns_cache=60
                ),
                cookie_jar=aiohttp.DummyCookieJar(),
                headers={"User-Agent": self.USER_AGENT},
            )
        return self._session


def _or(given: Seconds, default: float) -> float | None:
    return default if given is BaseRequest.DEFAULT_NONE else given


def _body(request: RequestData | None) -> tuple[bytes | aiohttp.FormData | None, dict[str, str] | None]:
    if request is None:
        return None, None
    if not request.contains_files:
        return request.url_encoded_parameters().encode(), FORM
    form = aiohttp.FormData(quote_fields=False)
    for name, value in request.json_parameters.items():
        form.add_field(name, value)
    for name, (filename, content, kind) in request.multipart_data.items():
        form.add_field(name, content, filename=filename, content_type=kind)
    return form, None
