"""Only our own page, at our own name, is answered."""

import pytest

from layoutdrill.served.guard import POLICY, refusal

OWN = "http://127.0.0.1:8042"


@pytest.mark.parametrize(
    ("host", "origin", "live", "status"),
    [
        ("127.0.0.1:8042", None, False, None),
        ("127.0.0.1:8042", OWN, True, None),
        ("127.0.0.1:8042", OWN.upper(), True, None),
        ("127.0.0.1:8042", None, True, 403),  # RFC 6455, 4.1: browsers always send an Origin with a WebSocket
        ("127.0.0.1:8042", "http://elsewhere.example", True, 403),
        ("127.0.0.1:8042", "http://elsewhere.example", False, 403),
        ("127.0.0.1:8042", "null", True, 403),
        ("127.0.0.1:8042", "http://127.0.0.1:9999", True, 403),
        ("127.0.0.1", OWN, True, 421),
        ("elsewhere.example:8042", OWN, True, 421),
        (None, OWN, False, 421),
    ],
)
def test_only_our_own_host_and_origin_pass(host, origin, live, status):
    """Rebinding (a foreign Host, CWE-350) and cross-site sockets (a foreign Origin or none, CWE-1385) are refused."""
    refused = refusal(OWN, host, origin, live=live)
    assert (refused.status if refused else None) == status


def test_the_policy_allows_nothing_from_elsewhere():
    """Every source in the content policy is this server itself, or none; only pictures may be inline data."""
    for directive in POLICY.split("; "):
        name, *sources = directive.split()
        allowed = {"'none'", "'self'"} | ({"data:"} if name == "img-src" else set())
        allowed |= {"'unsafe-inline'"} if name == "style-src" else set()
        assert set(sources) <= allowed, directive
