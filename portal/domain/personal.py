"""What is kept of people, table by table: whose a row is, and what becomes of each column when somebody erases their account.

Every table and every column that can hold words or points at a person stands here; a test holds it against the tables.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from portal.domain.words import N_

# Stands for whoever erased their account, in every record that needs somebody.
ERASED = N_("Erased account")


class Whose(StrEnum):
    """By what a row is somebody's."""

    # Their account and what hangs on it by its number.
    ACCOUNT = "account"
    # Their address, where it stands without their number.
    ADDRESS = "address"
    PAIR = "pair"
    # A booking of their own, not one they ordered for a club.
    BOOKING = "booking"
    # What they did for the workshop or for a club: the record stays, without them.
    DEED = "deed"


class Then(StrEnum):
    """What becomes of a column when a person erases their account."""

    # Nothing of a person stands in it.
    NOTHING = "nothing"
    # Their rows are deleted.
    GOES = "goes"
    # Emptied in their rows; elsewhere their name is struck out of the words.
    EMPTIED = "emptied"
    # Name, address and telephone number are struck out, the other words stay.
    STRUCK = "struck"
    # A name beside what was done gives way to ``ERASED``.
    NAME = "name"
    # An address to write to is emptied where it is theirs.
    ADDRESS = "address"
    # A key that leads to them no more.
    LET_GO = "let_go"
    # Kept as long as bookkeeping law asks; then name and address go.
    LAWFUL = "lawful"


@dataclass(frozen=True)
class Held:
    """One table. ``beside`` says which key tells whose name stands in a column; ``hidden`` columns leave in no export.

    In rows that are not theirs columns ``of_owners`` are left alone, since their owners wrote of what is their own, and in
    columns ``of_others`` a name alone says nothing: address and telephone number are struck out there.
    """

    whose: Whose | None
    columns: Mapping[str, Then]
    beside: Mapping[str, str]
    hidden: frozenset[str]
    # The key by which a row is somebody's deed or hangs on their account.
    key: str
    of_owners: frozenset[str]
    of_others: frozenset[str]

    @property
    def leaves(self) -> bool:
        """Whether an export has rows of this table."""
        return self.whose is not None

    @property
    def is_deleted(self) -> bool:
        """Whether rows of theirs are deleted."""
        return Then.GOES in self.columns.values()


def _held(
    whose: Whose | None = None,
    *,
    key: str = "person_id",
    nothing: str = "",
    goes: str = "",
    emptied: str = "",
    struck: str = "",
    name: str = "",
    address: str = "",
    let_go: str = "",
    lawful: str = "",
    hidden: str = "",
    of_owners: str = "",
    of_others: str = "",
) -> Held:
    """``name`` is written ``column`` or ``column:key``."""
    names = [one.partition(":") for one in name.split()]
    columns = {
        Then.NOTHING: nothing.split(),
        Then.GOES: goes.split(),
        Then.EMPTIED: emptied.split(),
        Then.STRUCK: struck.split(),
        Then.NAME: [column for column, _, _ in names],
        Then.ADDRESS: address.split(),
        Then.LET_GO: let_go.split(),
        Then.LAWFUL: lawful.split(),
    }
    return Held(
        whose,
        {column: then for then, some in columns.items() for column in some},
        {column: beside for column, _, beside in names if beside},
        frozenset(hidden.split()),
        key,
        frozenset(of_owners.split()),
        frozenset(of_others.split()),
    )


ACCOUNT, ADDRESS, PAIR, BOOKING, DEED = Whose
HELD: Mapping[str, Held] = {
    # The account.
    "person": _held(
        ACCOUNT, key="id", goes="email name phone password_hash language", hidden="password_hash is_erased"
    ),
    "former_name": _held(ACCOUNT, goes="person_id words"),
    "login_session": _held(ACCOUNT, goes="id person_id agent challenge", hidden="id challenge"),
    "authenticator": _held(ACCOUNT, goes="person_id secret", hidden="secret last_step"),
    "passkey": _held(
        ACCOUNT,
        goes="person_id name credential_id public_key",
        hidden="credential_id public_key sign_count",
    ),
    "recovery_code": _held(ACCOUNT, goes="person_id mark", hidden="mark"),
    "half_sign_in": _held(
        ADDRESS, goes="id email person_id seen_hash challenge", hidden="id seen_hash challenge"
    ),
    "failed_try": _held(ADDRESS, goes="bucket"),
    "club_manager": _held(ACCOUNT, goes="person_id"),
    "invitation": _held(ADDRESS, goes="email name mark", let_go="invited_by_id", hidden="mark"),
    "booking_draft": _held(ACCOUNT, goes="person_id stored"),
    "season_letter": _held(ACCOUNT, goes="person_id token", hidden="token"),
    "snow_answers": _held(ACCOUNT, goes="token person_id stored", hidden="token"),
    "glide_note": _held(ACCOUNT, goes="person_id timed remarks outing set_aside_words", hidden="outing"),
    "outbox_letter": _held(
        ADDRESS,
        goes="recipient subject body calendar calendar_method stop_page last_error",
        hidden="stop_page last_error is_last",
        of_others="subject body",
    ),
    "outbox_enclosure": _held(ADDRESS, goes="file_name media_type content"),
    # Their skis: what was ground stays with the pair.
    "pair": _held(
        PAIR,
        let_go="owner_id",
        struck="maker model",
        emptied="mark notes frozen_reason",
        name="frozen_by",
        of_owners="maker model mark notes",
        # What the workshop notes for itself while it clears up whose a pair is.
        hidden="frozen_reason",
    ),
    "pair_offer": _held(PAIR, goes="code_hash", hidden="code_hash"),
    "handover": _held(
        ACCOUNT,
        key="from_person_id",
        let_go="from_person_id to_person_id",
        emptied="title notes",
        of_owners="title notes",
        # Which club somebody else is in.
        hidden="to_club_id",
    ),
    "grind": _held(PAIR, name="technician", struck="remarks"),
    "check_in": _held(PAIR, name="technician", emptied="brought_by", struck="remarks conditions"),
    "photo": _held(PAIR, goes="data mimetype"),
    "rework": _held(
        PAIR,
        let_go="asked_by_id",
        emptied="asked_words",
        struck="reason",
        name="decided_by",
        of_others="asked_words",
    ),
    # Their bookings: what was done and paid stays, without words.
    "booking": _held(
        BOOKING,
        let_go="person_id",
        emptied="note reason",
        nothing="reference currency lines",
        of_others="note reason",
    ),
    "booking_item": _held(BOOKING, struck="shelf"),
    "booking_event": _held(
        BOOKING, let_go="person_id", emptied="words", nothing="bill_before", of_others="words"
    ),
    "booking_note": _held(BOOKING, goes="person_id words", of_others="words"),
    "counter_offer": _held(BOOKING, let_go="made_by_id", emptied="reason structure_reason price_reason"),
    "offered_structure": _held(BOOKING),
    "parcel": _held(BOOKING, goes="carrier number person_id"),
    "stop": _held(BOOKING, let_go="stopped_by_id answered_by_id", struck="reason"),
    "handback": _held(
        BOOKING, name="technician", emptied="taken_by", struck="remarks", nothing="checks care"
    ),
    "run_pair": _held(
        BOOKING, let_go="done_by_id", name="done_by:done_by_id", struck="remarks reason", nothing="measured"
    ),
    "payment": _held(
        BOOKING,
        let_go="person_id",
        name="name:person_id",
        emptied="remark",
        nothing="key statement",
        hidden="key",
    ),
    "payment_tax": _held(BOOKING),
    "invoice": _held(
        BOOKING,
        let_go="person_id",
        name="name:person_id",
        lawful="reason lines content",
        nothing="key",
        hidden="key",
    ),
    # What they did for the workshop or for a club.
    "audit_entry": _held(DEED, let_go="person_id", name="name:person_id", struck="about words"),
    "bench_note": _held(
        DEED,
        let_go="person_id",
        name="name:person_id",
        struck="words",
        nothing="key target",
        hidden="key target",
    ),
    "bench_run": _held(DEED, key="begun_by_id", let_go="begun_by_id", nothing="layer"),
    "stone_dressing": _held(
        DEED,
        key="dressed_by_id",
        let_go="dressed_by_id judged_by_id",
        name="dressed_by:dressed_by_id judged_by:judged_by_id",
        struck="remarks seen reason",
        nothing="settings diamond",
    ),
    "stone_plan": _held(
        DEED,
        key="asked_by_id",
        let_go="asked_by_id accepted_by_id",
        nothing="problem lots notes changes progress result claimed_by fault",
        hidden="problem lots notes changes progress result claimed_by fault heartbeat_at tries seed",
    ),
    "pin": _held(DEED, key="pinned_by_id", let_go="pinned_by_id"),
    "season_round": _held(DEED, key="asked_by_id", let_go="asked_by_id"),
    "stone_state": _held(DEED, key="noted_by_id", let_go="noted_by_id", nothing="layer"),
    "own_text": _held(DEED, key="changed_by_id", let_go="changed_by_id", nothing="slot language words"),
    # The workshop's and the clubs' own, where a name may stand.
    "club": _held(
        nothing="name tax_number country",
        struck="address invoice_name invoice_address buyer_reference",
        address="invoice_email",
        of_others="address invoice_name invoice_address buyer_reference",
    ),
    "crate": _held(name="opened_by closed_by", struck="missing"),
    "crate_extra": _held(name="noted_by", struck="words", nothing="key"),
    "list_import": _held(
        goes="content", name="sent_by", struck="file_name", nothing="reading meant options brought"
    ),
    "structure": _held(name="made_by", nothing="key name stated"),
    "venue": _held(name="loaded_by", nothing="name file_name climate"),
    "diamond": _held(struck="notes", nothing="mark"),
    "work_day": _held(struck="note", nothing="stone_minutes"),
    "special_day": _held(struck="reason", nothing="hours minutes"),
    # Nothing of anybody who can erase an account; juniors are a club's and go by its own page.
    "junior": _held(nothing="display_name"),
    "pair_claim": _held(nothing="code_hash"),
    "age_class": _held(nothing="name"),
    "workshop": _held(
        nothing="name address phone email timezone currency tag_sheet opening_week legal_name street post_code"
        " city country vat_number tax_number register_number account_holder iban bic no_tax_reason"
        " invoice_remark"
    ),
    "price": _held(),
    "club_tier": _held(),
    "tax_rate": _held(),
    "hand_in_place": _held(nothing="name address weekdays"),
    "own_care_rule": _held(nothing="key condition advice caution source families disciplines grips snow"),
    "listed_reason": _held(nothing="key words"),
    "structure_family": _held(nothing="key name summary working_model"),
    "column_meaning": _held(nothing="headings meant"),
    "commitment": _held(nothing="layer"),
}


# Words to or about others in which somebody may be named: they stay where their row does.
ALSO_STRUCK = (
    ("outbox_letter", "subject"),
    ("outbox_letter", "body"),
    ("booking_note", "words"),
    ("glide_note", "set_aside_words"),
)
# Of JSON only the words under this key are anybody's; all else is read by the portal.
WORDS_IN_JSON = {("check_in", "conditions"): "words"}
# Clubs keep names too, beside what their managers did.
NAMES_IN_CLUBS = frozenset({"list_import"})


def columns_that(then: Then) -> list[tuple[str, str]]:
    """Each table and column of which this becomes."""
    return [
        (table, column)
        for table, held in HELD.items()
        for column, what in held.columns.items()
        if what is then
    ]
