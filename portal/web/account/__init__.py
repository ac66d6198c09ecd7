"""The pages that lead into an account and out of it, and what a person changes about themselves."""

from portal.web.account import (
    account,
    again,
    data,
    erase,
    how,
    invitations,
    passwords,
    second_step,
    sign_in,
    sign_up,
)
from portal.web.account.blueprint import bp

__all__ = [
    "account",
    "again",
    "bp",
    "data",
    "erase",
    "how",
    "invitations",
    "passwords",
    "second_step",
    "sign_in",
    "sign_up",
]
