"""Passwords that are too easily guessed."""

from __future__ import annotations

from string import digits, punctuation, whitespace
from typing import Any

from django.contrib.auth.password_validation import CommonPasswordValidator

PADDING = digits + punctuation + whitespace


class CommonWithin(CommonPasswordValidator):
    """No common password, and none that is only padded with digits and signs to the length asked for.

    Of the framework's list of some 20,000 fewer than 200 have 12 characters or more; padded, all count.
    """

    def validate(self, password: str, user: Any = None) -> None:
        """Raises `ValidationError`, whose words are the framework's."""
        super().validate(password, user)
        super().validate(password.strip(PADDING), user)
