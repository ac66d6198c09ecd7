"""The pages that lead into an account and out of it, and what a person changes about themselves."""

from portal.web.account import account, passwords, sign_in, sign_up
from portal.web.account.blueprint import bp

__all__ = ["account", "bp", "passwords", "sign_in", "sign_up"]
