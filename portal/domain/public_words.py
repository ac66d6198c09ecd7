"""What the workshop says of itself on its front page; nothing of it is shipped."""

from __future__ import annotations

from portal.domain.words import N_

OPENING_NOTE = "public.note"
ABOUT = "public.about"
FIND_US = "public.find_us"

TITLES = {
    OPENING_NOTE: N_("A note at the top of the front page, such as a change of hours"),
    ABOUT: N_("About the workshop"),
    FIND_US: N_("How to find us"),
}
