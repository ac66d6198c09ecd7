"""The pages that lead into an account and out of it, and what a person changes about themselves."""

from portal.web.account import account, again, invitations, passwords, sign_in, sign_up
from portal.web.account.blueprint import bp

__all__ = ["account", "again", "bp", "invitations", "passwords", "sign_in", "sign_up"]
