"""Serving the application: the socket, uvicorn's settings, and an end that says goodbye."""

from __future__ import annotations

import asyncio
import contextlib
import errno
import socket
from asyncio.transports import BaseTransport, Transport
from collections.abc import Iterator
from typing import cast

import uvicorn
from fastapi import FastAPI
from uvicorn.protocols.websockets.websockets_sansio_impl import WebSocketsSansIOProtocol

from api.desk import Desk
from api.live import MESSAGE_BYTES_MAXIMUM
from fleet.bind import Tls
from fleet.errors import ContactFailed, PortTaken

LOOPBACK = "127.0.0.1"
SEND_BUFFER_BYTES = 262_144
"""Kernel's and loop's share of what may wait for one slow client; on loopback the kernel alone would hold 4 MB."""
TLS_1_2_CIPHERS = "ECDHE+AESGCM:ECDHE+CHACHA20"
"""Forward secret and authenticated alone (RFC 9325, section 4.2); TLS 1.3 has no others."""
LINGER_S = 2.0
GOODBYE_WITHIN_S = 1.0
SHUTDOWN_WITHIN_S = 3
CONNECTIONS_MAXIMUM = 512
_LOOK_AGAIN_S = 0.02


class BoundedWebSocket(WebSocketsSansIOProtocol):
    """The WebSocket of uvicorn, but what waits for a client is bounded and a client that stopped reading is cut off."""

    def connection_made(self, transport: BaseTransport) -> None:
        """Bound what may wait before writing pauses."""
        super().connection_made(transport)
        cast(Transport, transport).set_write_buffer_limits(high=SEND_BUFFER_BYTES)

    def on_task_complete(self, task: asyncio.Task[None]) -> None:
        """Cut the client off after a time: a polite close waits for what a frozen one never takes."""
        super().on_task_complete(task)
        self.loop.call_later(LINGER_S, self.transport.abort)


class ConsoleServer(uvicorn.Server):
    """A uvicorn server whose live connections hear *bye* before they are closed."""

    def __init__(self, config: uvicorn.Config, desk: Desk) -> None:
        super().__init__(config)
        self._desk = desk

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Leave the signals to whoever serves: set ``should_exit`` to end it."""
        yield

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Tell the live connections, give them a moment, then end."""
        live = self._desk.live
        live.stopping.set()
        looks = round(GOODBYE_WITHIN_S / _LOOK_AGAIN_S)
        while live.open and looks:
            await self._desk.clock.sleep(_LOOK_AGAIN_S)
            looks -= 1
        await super().shutdown(sockets)


def loopback_socket(port: int = 0) -> socket.socket:
    """A listening socket on loopback; see ``listening_socket``."""
    return listening_socket(LOOPBACK, port)


def listening_socket(host: str, port: int = 0) -> socket.socket:
    """A listening socket at an address of this machine; port 0 lets the system choose a free one.

    Raises PortTaken, and ContactFailed when the system doesn't allow it.
    """
    listening = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    # Accepted connections inherit the size.
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER_BYTES)
    try:
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        if error.errno == errno.EADDRINUSE:
            raise PortTaken(port) from error
        raise ContactFailed(f"{host} port {port}", f"can't be listened on: {error.strerror}") from error
    listening.setblocking(False)
    return listening


def server_config(app: FastAPI, tls: Tls | None = None) -> uvicorn.Config:
    """The settings of uvicorn; whoever serves binds the socket itself. With ``tls``, TLS 1.2 and 1.3 alone."""
    return uvicorn.Config(
        app,
        ws=BoundedWebSocket,
        ws_per_message_deflate=False,
        ws_max_size=MESSAGE_BYTES_MAXIMUM,
        ws_ping_interval=20.0,
        ws_ping_timeout=20.0,
        http="h11",
        limit_concurrency=CONNECTIONS_MAXIMUM,
        timeout_keep_alive=30,
        timeout_graceful_shutdown=SHUTDOWN_WITHIN_S,
        server_header=False,
        date_header=True,
        proxy_headers=False,
        access_log=False,
        log_config=None,
        lifespan="off",
        ssl_certfile=None if tls is None else tls.certificate,
        ssl_keyfile=None if tls is None else tls.key,
        ssl_ciphers=TLS_1_2_CIPHERS,
    )


def console_server(app: FastAPI, desk: Desk, tls: Tls | None = None) -> ConsoleServer:
    """A server for the application; serve it with ``await server.serve(sockets=[listening_socket(host, port)])``."""
    return ConsoleServer(server_config(app, tls), desk)
