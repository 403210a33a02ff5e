"""Who may see and who may write: the one helper that every page asks before anything else.

Sitting at this machine is leave enough to write, so a page of another site must not be able to borrow that leave:
a write needs this site's own token, or an `Authorization: Bearer` secret, which no other site can send.
"""

from __future__ import annotations

import ipaddress
import secrets as random
from typing import Any
from urllib.parse import urlsplit

from datasette.utils.asgi import Forbidden, Request
from itsdangerous import BadSignature, URLSafeSerializer

from matref.web.shelf import ROUTE

_NAMES = ("localhost", "127.0.0.1", "::1")
_PURPOSE = "matref-writer"
_FORWARDED = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip")
COOKIE = "matref_writer"


async def permit(datasette: Any, request: Request, action: str = "view") -> None:
    """Raise Forbidden unless this request may view, or write to, the workshop ("view", "write")."""
    await datasette.ensure_permissions(request.actor, [("view-database", ROUTE), "view-instance"])
    if action == "view":
        return
    if not may_write(datasette, request):
        raise Forbidden("Only this machine, or somebody who knows the secret, may write here")


def may_write(datasette: Any, request: Request) -> bool:
    """Tell whether this request comes from this machine, or brings the secret or the cookie it earned."""
    if from_here(request.scope):
        return True
    scheme, _, typed = request.headers.get("authorization", "").partition(" ")
    if scheme.lower() == "bearer" and is_secret(datasette, typed.strip()):
        return True
    try:
        return bool(datasette.unsign(request.cookies.get(COOKIE, ""), _PURPOSE) == "may write")
    except BadSignature:
        return False


def from_here(scope: dict[str, Any]) -> bool:
    """Tell whether a request was made on this machine, to this machine's own name, and not passed on by a proxy."""
    client = scope.get("client")
    headers = {key.decode("latin-1").lower(): value.decode("latin-1") for key, value in scope.get("headers") or []}
    if client is None or any(name in headers for name in _FORWARDED):
        return False
    try:
        loopback = ipaddress.ip_address(client[0]).is_loopback
    except ValueError:
        return False
    return loopback and is_local_name(headers.get("host", ""))


def is_local_name(host: str) -> bool:
    """Tell whether a Host header names this machine.

    >>> is_local_name("127.0.0.1:8001"), is_local_name("[::1]:8001"), is_local_name("tides.example:8001")
    (True, True, False)
    """
    try:
        parts = urlsplit(f"//{host}")
        return parts.hostname in _NAMES and parts.username is None and parts.port != 0
    except ValueError:
        return False


def is_secret(datasette: Any, typed: str) -> bool:
    """Tell whether `typed` is the secret that this server signs with, without either being compared in the open."""
    try:
        return bool(URLSafeSerializer(typed, _PURPOSE).loads(datasette.sign("probe", _PURPOSE)) == "probe")
    except BadSignature:
        return False


def writer_cookie(datasette: Any) -> str:
    """Return the value of the cookie that somebody earns by typing the secret."""
    return str(datasette.sign("may write", _PURPOSE))


def from_elsewhere(request: Request) -> bool:
    """Tell whether a page of another site made the browser send this request."""
    if request.headers.get("sec-fetch-site", "none") not in ("same-origin", "none"):
        return True
    origin = request.headers.get("origin")
    return origin is not None and urlsplit(origin).netloc != request.host


def same_site(datasette: Any, request: Request, token: str) -> bool:
    """Tell whether a form was sent from one of our own pages: same origin, and the token that page was given.

    Datasette leaves requests without cookies unchecked, which is right where cookies are what gives leave; here
    the machine does. A program that brings the secret needs no token.
    """
    if from_elsewhere(request):
        return False
    scheme, _, secret = request.headers.get("authorization", "").partition(" ")
    if scheme.lower() == "bearer" and is_secret(datasette, secret.strip()):
        return True
    given = request.cookies.get("ds_csrftoken", "")
    try:
        datasette.unsign(given, "csrftoken")
    except BadSignature:
        return False
    return bool(token) and random.compare_digest(token.encode(), given.encode())
