"""A line to a PostgreSQL server that is cut in the middle of a sentence.

    with CutLine(server.port) as line:
        address = server.address(schema=schema, port=line.port)
        line.cut_at(7)                    # the seventh statement never arrives
        line.cut_at(7, answered=True)     # it does, but its answer is lost

A statement is what a client sends before it waits: one simple query, a group of messages that ends in Sync, a portion
of COPY. Both ends see a connection that is gone; whoever connects again gets through, unless the line `is_down`. The
messages are those of the frontend/backend protocol, version 3.0 (PostgreSQL's documentation, chapter 55).
"""

import socket
import struct
import threading
from contextlib import suppress

_ENDS_A_STATEMENT = (b"Q", b"S", b"d")  # Query, Sync, CopyData
_PART_OF_A_STATEMENT = (b"P", b"B", b"D", b"E", b"C")  # Parse, Bind, Describe, Execute, Close
_READY = b"Z\x00\x00\x00\x05"


class CutLine:
    """A proxy on loopback, each connection in threads of its own.

    Attributes:
        port: where to connect.
        statements: how many have passed since `cut_at`.
        was_cut: whether a cut that was ordered has happened.
        is_down: nobody gets through.
    """

    def __init__(self, server_port):
        self._server = ("127.0.0.1", server_port)
        self._lock = threading.Lock()
        self._cut_at, self._answered = 0, False
        self.statements, self.was_cut, self.is_down = 0, False, False
        self._open = set()
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port = self._listening.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._listening.close()
        self.cut_all()

    def cut_at(self, number, *, answered=False):
        """Cut at that statement from now; 0: never."""
        with self._lock:
            self._cut_at, self._answered, self.statements, self.was_cut = number, answered, 0, False

    def cut_all(self):
        """Cut every connection now."""
        with self._lock:
            each = list(self._open)
        for between in each:
            between.cut()

    def _accept(self):
        while True:
            try:
                client, _ = self._listening.accept()
            except OSError:
                return
            if self.is_down:
                client.close()
                continue
            threading.Thread(target=self._serve, args=(client,), daemon=True).start()

    def _serve(self, client):
        try:
            server = socket.create_connection(self._server)
        except OSError:
            client.close()
            return
        between = _Between(client, server, self._is_to_be_cut)
        with self._lock:
            self._open.add(between)
        threading.Thread(target=between.pass_answers, daemon=True).start()
        try:
            with suppress(OSError):
                between.pass_questions()
        finally:
            between.cut()
            with self._lock:
                self._open.discard(between)

    def _is_to_be_cut(self):
        """None while it goes on; else whether the statement arrives all the same."""
        with self._lock:
            self.statements += 1
            if self.was_cut or self.statements != self._cut_at:
                return None
            self.was_cut = True
            return self._answered


class _Between:
    """Stands between one client and the server."""

    def __init__(self, client, server, is_to_be_cut):
        self._client, self._server, self._is_to_be_cut = client, server, is_to_be_cut
        self._is_lost, self._is_answered = threading.Event(), threading.Event()
        for end in (client, server):
            end.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    def cut(self):
        """Both ends find it gone."""
        for end in (self._client, self._server):
            _shut(end)

    def pass_questions(self):
        """Until the client goes, or the line is cut."""
        source = self._client.makefile("rb")
        while (first := _untyped(source))[4:8] in _BEFORE_START:
            self._server.sendall(first)  # answered by one letter
        self._server.sendall(first)
        waiting = b""
        while message := _typed(source):
            waiting += message
            if message[:1] in _PART_OF_A_STATEMENT:
                continue
            if message[:1] in _ENDS_A_STATEMENT and (arrives := self._is_to_be_cut()) is not None:
                if arrives:
                    self._is_lost.set()
                    self._server.sendall(waiting)
                    self._is_answered.wait(0.05 if message[:1] == b"d" else 10)  # rows are not answered one by one
                return
            self._server.sendall(waiting)
            waiting = b""

    def pass_answers(self):
        """Until the server goes; an answer that is lost is read to its end."""
        with suppress(OSError):
            while part := self._server.recv(1 << 16):
                if not self._is_lost.is_set():
                    self._client.sendall(part)
                elif _READY in part or part[:1] == b"G":  # CopyInResponse
                    self._is_answered.set()
        self._is_answered.set()
        _shut(self._client)


_BEFORE_START = (struct.pack("!i", 80877103), struct.pack("!i", 80877104))  # SSLRequest, GSSENCRequest


def _untyped(source):
    """A message without a letter: its length first."""
    head = _exactly(source, 4)
    return head + _exactly(source, struct.unpack("!i", head)[0] - 4)


def _typed(source):
    """A message with its letter; empty at the end."""
    letter = source.read(1)
    if not letter:
        return b""
    head = _exactly(source, 4)
    return letter + head + _exactly(source, struct.unpack("!i", head)[0] - 4)


def _exactly(source, count):
    read = source.read(count)
    if len(read) < count:
        raise ConnectionError("the line ended in the middle of a message")
    return read


def _shut(end):
    with suppress(OSError):
        end.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))  # a reset, as of a pulled plug
    with suppress(OSError):
        end.shutdown(socket.SHUT_RDWR)
    end.close()
