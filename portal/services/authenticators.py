"""Codes that an app reckons from a secret and the clock (RFC 6238): six digits, a step of 30 s, SHA-1, as every app knows them."""

from __future__ import annotations

import re
from datetime import datetime

import pyotp
from pyotp.exceptions import OTPVerificationError

# Clocks of telephones are off, and people type slowly: a code is good one step before and after its own (RFC 6238, 5.2).
STEPS_OFF = 1
CODE = re.compile(r"[0-9]{6}", re.ASCII)


def step_of(secret: str, code: str, now: datetime, after: int) -> int | None:
    """The step whose code this is, later than ``after``; nothing for a wrong code and for one that was used already.

    ``secret`` is in base32, ``code`` may have spaces between its digits.
    """
    typed = "".join(code.split())
    if not CODE.fullmatch(typed):
        return None
    try:
        step = pyotp.TOTP(secret).verify_and_get_timecode(typed, for_time=now, valid_window=STEPS_OFF)
    except OTPVerificationError:
        return None
    return step if step > after else None


def address_of(secret: str, email: str, site: str) -> str:
    """What the square code says, so that an app knows the secret, whose it is and where it is for."""
    return pyotp.TOTP(secret).provisioning_uri(name=email, issuer_name=site)


def in_groups(secret: str) -> str:
    """The secret as people type it, four signs at a time."""
    return " ".join(secret[at : at + 4] for at in range(0, len(secret), 4))
