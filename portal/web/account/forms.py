"""Forms of the account pages."""

from __future__ import annotations

from typing import Any

from wtforms import BooleanField, HiddenField, PasswordField, RadioField, StringField
from wtforms.form import BaseForm

from portal.domain.words import N_
from portal.services import accounts, second_factors
from portal.services.passwords import weakness
from portal.web.email_field import EmailField, on_one_line
from portal.web.forms import PortalForm, Problem, at_most, said


def hard_to_guess(form: BaseForm, field: Any) -> None:
    """A validator: a password as it must be, seen against what the form's ``personal`` says about the person."""
    fault = weakness(field.data or "", getattr(form, "personal", ()))
    if fault is not None:
        raise Problem(fault.text, **fault.values)


def _email() -> EmailField:
    return EmailField(N_("E-mail address"), [said(N_("Enter your e-mail address"))], filters=[on_one_line])


def _name() -> StringField:
    checks = [said(N_("Enter your name")), at_most(accounts.NAME_LENGTH)]
    return StringField(N_("Your name"), checks, filters=[on_one_line])


def _new_password(label: str) -> PasswordField:
    return PasswordField(
        label,
        [hard_to_guess],
        description=N_("At least 10 characters; a few words that do not belong together are good"),
    )


SEASON_LETTER = N_("Write to me once a year what is due on my skis")


class SignUpForm(PortalForm):
    name = _name()
    email = _email()
    password = _new_password(N_("Password"))
    season_letter = BooleanField(SEASON_LETTER)

    @property
    def personal(self) -> tuple[str, ...]:
        return (self.name.data or "", self.email.data or "")


class SignInForm(PortalForm):
    email = _email()
    password = PasswordField(N_("Password"), [said(N_("Enter your password"))])


class ConfirmForm(PortalForm):
    """Asks for the password again that was chosen at sign-up."""

    password = PasswordField(
        N_("The password you chose"), [said(N_("Enter the password you chose when you signed up"))]
    )


class AddressForm(PortalForm):
    """Asks for nothing but the address to write to."""

    email = _email()


class NewPasswordForm(PortalForm):
    """Set ``personal`` before it is checked."""

    personal: tuple[str, ...] = ()
    password = _new_password(N_("Choose a new password"))


class ChangePasswordForm(PortalForm):
    """Set ``personal`` before it is checked."""

    personal: tuple[str, ...] = ()
    current = PasswordField(N_("The password you have now"), [said(N_("Enter the password you have now"))])
    password = _new_password(N_("New password"))


class AgainForm(PortalForm):
    """The password; or what a passkey answered, which a script fills in."""

    password = PasswordField(N_("Your password"))
    passkey = HiddenField()

    def validate_password(self, field: PasswordField) -> None:
        if not field.data and not self.passkey.data:
            raise Problem(N_("Enter your password"))


class SecondStepForm(PortalForm):
    """A code of an app or for recovery; or what a passkey answered, which a script fills in."""

    code = StringField(N_("Code"), [at_most(40)], filters=[on_one_line])
    passkey = HiddenField()

    def validate_code(self, field: StringField) -> None:
        if not field.data and not self.passkey.data:
            raise Problem(N_("Enter the code that the app shows, or one of your recovery codes"))


class FirstCodeForm(PortalForm):
    code = StringField(
        N_("Code that the app shows now"),
        [said(N_("Enter the six figures that the app shows")), at_most(40)],
        filters=[on_one_line],
    )


class NewPasskeyForm(PortalForm):
    """What the key is called; a script fills in what the device answered."""

    name = StringField(
        N_("What to call this passkey"),
        [said(N_("Enter a name by which you know it again")), at_most(second_factors.NAME_LENGTH)],
        description=N_("Such as the device it is on"),
        filters=[on_one_line],
    )
    passkey = HiddenField()


class JoinForm(PortalForm):
    """Set ``personal`` before it is checked."""

    personal: tuple[str, ...] = ()
    name = _name()
    password = _new_password(N_("Choose a password"))


class NameForm(PortalForm):
    name = _name()


class SeasonLetterForm(PortalForm):
    season_letter = BooleanField(SEASON_LETTER)


class LanguageForm(PortalForm):
    """Its choices are the languages that are shipped, each named in itself."""

    language = RadioField(N_("Which language should pages and letters be in?"), choices=[])
