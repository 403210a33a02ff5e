"""Around every answer: which hosts are answered, how much may be sent, and what a browser may load."""

from __future__ import annotations

import json
import re
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from matref.web.access import is_local_name
from matref.web.trouble import Answered

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

MOST_BYTES = 2_000_000
"""The largest body of a request: a CSV of some ten thousand samples."""

UPLOADS = ("/-/samples/import", "/-/samples/import.json")
"""Where a form with a file may be sent."""

_MOST_QUERY = 8_000
_FORM = "application/x-www-form-urlencoded"
_MULTIPART = re.compile(r"multipart/form-data\s*;.*\bboundary=\S+", re.IGNORECASE)
_HEADERS = (
    (
        b"content-security-policy",
        b"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
        b"form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)


class Refused(Exception):
    """A request that is not passed on: status and a sentence for the person."""

    def __init__(self, status: int, words: str) -> None:
        super().__init__(words)
        self.status = status


def guarded(app: App, *, loopback: bool) -> App:
    """Return `app` behind the guard. `loopback`: it is served on this machine's own address only."""

    async def guard(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", []), *_HEADERS]
            await send(message)

        try:
            again = await _checked(scope, receive, loopback)
        except Refused as refusal:
            await _say(scope, send_with_headers, refusal)
            return
        try:
            await app(scope, again, send_with_headers)
        except Answered as answered:
            await answered.response.asgi_send(send_with_headers)

    return guard


async def _checked(scope: Scope, receive: Receive, loopback: bool) -> Receive:
    headers = {key.decode("latin-1").lower(): value.decode("latin-1") for key, value in scope.get("headers") or []}
    if loopback and not is_local_name(headers.get("host", "")):
        # A page elsewhere can point its own name at this machine; it must not read what is here.
        raise Refused(421, "This is matref on another address. Open it at 127.0.0.1 or localhost.")
    if len(scope.get("query_string") or b"") > _MOST_QUERY:
        raise Refused(414, "The address is too long.")
    if scope["method"] in ("GET", "HEAD", "OPTIONS"):
        return receive
    kind = headers.get("content-type", "")
    if kind.lower().startswith("multipart/"):
        if scope["path"] not in UPLOADS:
            raise Refused(415, "This page takes no files.")
        if not _MULTIPART.match(kind):
            raise Refused(400, "The form arrived without its parts.")
    body = await _body(headers, receive)
    if kind.lower().startswith(_FORM):
        try:
            body.decode("utf-8")
        except UnicodeDecodeError:
            raise Refused(400, "The form is not in UTF-8.") from None
    sent = False

    async def again() -> Message:
        nonlocal sent
        if sent:
            return await receive()
        sent = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again


async def _body(headers: dict[str, str], receive: Receive) -> bytes:
    too_much = Refused(413, f"That is too much at once; at most {MOST_BYTES // 1_000_000} MB.")
    announced = headers.get("content-length", "0")
    if announced.isascii() and announced.isdigit() and int(announced) > MOST_BYTES:
        raise too_much
    parts, size = [], 0
    while True:
        message = await receive()
        if message["type"] != "http.request":
            raise Refused(400, "The connection broke off.")
        parts.append(message.get("body", b""))
        size += len(parts[-1])
        if size > MOST_BYTES:
            raise too_much
        if not message.get("more_body"):
            return b"".join(parts)


async def _say(scope: Scope, send: Send, refusal: Refused) -> None:
    if str(scope.get("path", "")).endswith(".json"):
        kind, body = b"application/json; charset=utf-8", json.dumps({"ok": False, "error": str(refusal)}).encode()
    else:
        kind, body = b"text/plain; charset=utf-8", str(refusal).encode()
    await send({"type": "http.response.start", "status": refusal.status, "headers": [(b"content-type", kind)]})
    await send({"type": "http.response.body", "body": body})
