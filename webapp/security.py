"""Who may talk to the server, how much, and what a browser may do with its pages."""

from __future__ import annotations

import ipaddress
import socket
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
SOFTWARE = "/api/"
"""Where addresses for other software begin."""

CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "connect-src 'self'",
        "worker-src 'self'",
        "font-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

RESPONSE_HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    # not "no-referrer": browsers then send "Origin: null" with our own forms
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


def host_is_ours(host: str, allowed: frozenset[str]) -> bool:
    """Whether a Host header names this machine: an address, ``localhost``, the machine's own name, or
    a name that the shop allowed. Another name means that somebody points their domain at us."""
    name = (urlsplit(f"//{host}").hostname or "").rstrip(".")
    own = socket.gethostname().lower().split(".")[0]
    if name in allowed or name in {"localhost", own, f"{own}.local"}:
        return True
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def comes_from_our_pages(headers: Headers) -> bool:
    """Whether a request that changes something was sent by a page of this server.

    Browsers leave ``Sec-Fetch-Site`` out on plain http addresses of a local network, so the origin
    is compared too; a request that carries neither, nor a referrer, is refused.
    """
    if headers.get("sec-fetch-site", "same-origin") not in {"same-origin", "none"}:
        return False
    stated = headers.get("origin") or headers.get("referer")
    if stated is None:
        return "sec-fetch-site" in headers
    return urlsplit(stated).netloc.lower() == headers.get("host", "").lower()


class Guard:
    """Refuses strange hosts and foreign posts, and puts the security headers on every answer."""

    def __init__(self, app: ASGIApp, allowed_hosts: frozenset[str]) -> None:
        self.app = app
        self.allowed_hosts = allowed_hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in RESPONSE_HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        refusal = self._refusal(scope["method"], scope["path"], Headers(scope=scope))
        await (refusal or self.app)(scope, receive, send_with_headers)

    def _refusal(self, method: str, path: str, headers: Headers) -> PlainTextResponse | None:
        if not host_is_ours(headers.get("host", ""), self.allowed_hosts):
            return PlainTextResponse("This address is not one that Castweek serves. Add it to CASTWEEK_ALLOWED_HOSTS.", 400)
        # the JSON interface hears no cookie, so nothing that a browser adds by itself could act there
        if method not in SAFE_METHODS and not path.startswith(SOFTWARE) and not comes_from_our_pages(headers):
            return PlainTextResponse("Nothing was changed: the request did not come from a page of this server.", 403)
        return None
