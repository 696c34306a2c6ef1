"""
What a request must be before it is looked at: to our own host, and, for the live connection, from our own page.

A page of another site can send requests to this machine (cross-site WebSocket hijacking, CWE-1385) and can give its
own name this machine's address (DNS rebinding, CWE-350). The first is refused by its Origin, the second by its Host.
"""

from layoutdrill.value import value

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; font-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
"""The page loads nothing from elsewhere, and stands in no other page (W3C Content Security Policy 3)."""

HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}


@value
class Refusal:
    """An HTTP status, and what the page says."""

    status: int
    text: str


def refusal(own: str, host: str | None, origin: str | None, *, live: bool) -> Refusal | None:
    """
    Return why a request is refused, None where it may go on.

    `own` is our origin, as "http://127.0.0.1:8000"; a browser states the Origin of every WebSocket (RFC 6455, 4.1), and
    of other requests only now and then.
    """
    if host is None or host.lower() != own.split("://", 1)[1]:
        return Refusal(421, "This name is not ours.")  # RFC 9110, 15.5.20: misdirected request
    if origin is None and not live:
        return None
    if origin is None or origin.lower() != own:
        return Refusal(403, "Only our own page may do that.")
    return None
