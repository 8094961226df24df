"""From where somebody knocks: the visitor's address behind a proxy, and the mark of a known device.

A forwarded address is believed only from proxies named in `EGGTOOTH_PROXIES`. A device that has signed in
keeps a signed cookie: wrong tries by strangers do not shut it out, and its own are counted apart.
"""

from __future__ import annotations

import logging
import os
import secrets
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse

LOG = logging.getLogger("eggtooth.doors")
DEVICE_SECONDS = 365 * 24 * 3600
SALT = "eggtooth.device"
IPV6_PREFIX = 64
"""A household or a rented server has a whole network of this length, so it counts as one address."""


def proxies() -> list[IPv4Network | IPv6Network]:
    """Networks whose forwarded addresses are believed. Raises `ValueError` for what is none."""
    return [ip_network(text) for text in os.environ.get("EGGTOOTH_PROXIES", "").split()]


def visitor(request: HttpRequest) -> str:
    """The visitor's address: the last in the chain that is no proxy of ours; of IPv6 its network."""
    trusted = proxies()
    here = request.META.get("REMOTE_ADDR", "")
    chain = [part.strip() for part in request.headers.get("X-Forwarded-For", "").split(",")]
    while chain and any(_ip(here) in net for net in trusted if _is_ip(here)):
        nearer = chain.pop()
        if not _is_ip(nearer):  # whoever wrote this is no proxy of ours; the last sure address counts
            break
        here = nearer
    return _whole_network(here) if _is_ip(here) else here


def _ip(text: str) -> IPv4Address | IPv6Address:
    found = ip_address(text)
    return found.ipv4_mapped or found if isinstance(found, IPv6Address) else found


def _is_ip(text: str) -> bool:
    try:
        ip_address(text)
    except ValueError:
        return False
    return True


def _whole_network(text: str) -> str:
    address = _ip(text)
    if address.version == 4:
        return str(address)
    return str(ip_network((int(address) >> IPV6_PREFIX << IPV6_PREFIX, IPV6_PREFIX)))


def device_cookie() -> str:
    """The cookie's name; with this prefix a browser takes it over https only."""
    return "__Secure-device" if settings.SESSION_COOKIE_SECURE else "device"


def device(request: HttpRequest, name: str) -> str:
    """The mark of a device on which this person has signed in before, or nothing."""
    try:
        owner, mark = signing.loads(
            request.COOKIES.get(device_cookie(), ""), salt=SALT, max_age=DEVICE_SECONDS
        )
    except (signing.BadSignature, ValueError, TypeError):
        return ""
    return f"device {mark}" if owner == name else ""


def remember(answer: HttpResponse, name: str) -> None:
    """Let the device be known when this person knocks again."""
    answer.set_cookie(
        device_cookie(),
        signing.dumps([name, secrets.token_hex(16)], salt=SALT),
        max_age=DEVICE_SECONDS,
        path="/sign-in",
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Strict",
    )
