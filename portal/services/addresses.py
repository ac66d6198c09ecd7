"""E-mail addresses in the one form in which they are kept and compared, and networks as they are counted."""

from __future__ import annotations

from ipaddress import AddressValueError, IPv6Address

from email_validator import EmailNotValidError, validate_email

LONGEST = 320
# What one household or one office shares (RFC 6177 gives sites a /56 or a /48, never less than a /64).
IPV6_SITE_BITS = 64


def normal_email(text: str, *, test_names: bool = False) -> str | None:
    """The address in lower case with its domain in ASCII, or nothing when it is no address.

    The domain is kept as it goes over the wire (RFC 5891), so that the same mailbox is never two accounts and a mail
    server needs no extension for it. ``test_names`` lets the reserved names of RFC 6761 through.
    """
    try:
        found = validate_email(text.strip(), check_deliverability=False, test_environment=test_names)
    except EmailNotValidError:
        return None
    address = f"{found.local_part}@{found.ascii_domain}".lower()
    return address if len(address) <= LONGEST else None


def network_of(address: str) -> str:
    """The network address that tries are counted under: an IPv6 site counts as one, since it has endless addresses."""
    try:
        mapped = IPv6Address(address).ipv4_mapped
        if mapped is not None:
            # A proxy may write an IPv4 address so; each is a network of its own all the same.
            return str(mapped)
        site = int(IPv6Address(address)) >> (128 - IPV6_SITE_BITS) << (128 - IPV6_SITE_BITS)
    except AddressValueError:
        return address
    return f"{IPv6Address(site)}/{IPV6_SITE_BITS}"
