"""What the framework's own checks of a model say, as sentences that can be said in any language."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pourwright.words.said import Said

CHECKS = {
    "greater_than": "input should be greater than {gt}",
    "greater_than_equal": "input should be greater than or equal to {ge}",
    "less_than": "input should be less than {lt}",
    "less_than_equal": "input should be less than or equal to {le}",
    "multiple_of": "input should be a multiple of {multiple_of}",
    "finite_number": "input should be a finite number",
    "float_type": "input should be a valid number",
    "float_parsing": "input should be a valid number, unable to parse string as a number",
    "int_type": "input should be a valid integer",
    "int_parsing": "input should be a valid integer, unable to parse string as an integer",
    "int_from_float": "input should be a valid integer, got a number with a fractional part",
    "string_type": "input should be a valid string",
    "bool_type": "input should be a valid boolean",
    "bool_parsing": "input should be a valid boolean, unable to interpret input",
    "list_type": "input should be a valid list",
    "dict_type": "input should be a valid dictionary",
    "model_type": "input should be a valid dictionary or instance of {class_name}",
    "literal_error": "input should be {expected}",
    "enum": "input should be {expected}",
    "none_required": "input should be None",
    "string_too_long": "string should have at most {max_length} characters",
    "string_too_short": "string should have at least {min_length} characters",
    "string_pattern_mismatch": "string should match pattern '{pattern}'",
    "too_long": "{field_type:l} should have at most {max_length} items after validation,"
    " not {actual_length}",
    "too_short": "{field_type:l} should have at least {min_length} items after validation,"
    " not {actual_length}",
}
"""Kind of a failed check to its English sentence, blanks named as in the check's own facts [-]."""
ONE = {
    "string_too_short": "string should have at least {min_length} character",
    "string_too_long": "string should have at most {max_length} character",
    "too_short": "{field_type:l} should have at least {min_length} item after validation,"
    " not {actual_length}",
    "too_long": "{field_type:l} should have at most {max_length} item after validation,"
    " not {actual_length}",
}
"""The same for one of a thing [-]."""


def check_said(error: Mapping[str, Any]) -> str:
    """Why a value failed a check of its model.

    Parameters
    ----------
    error : mapping [-]
        One of a pydantic error's ``errors()``: ``type``, ``msg`` and ``ctx``.

    Returns
    -------
    str [-]
        Its message with a small first letter: a `Said` where the kind of check is known and words
        it just so, else plain English.
    """
    plain = str(error.get("msg") or "it does not fit")
    plain = plain[:1].lower() + plain[1:]
    facts = {k: _plain(v) for k, v in dict(error.get("ctx") or {}).items()}
    for patterns in (CHECKS, ONE):
        pattern = patterns.get(str(error.get("type")))
        if pattern is None:
            continue
        try:
            said = Said(pattern, facts)
        except (KeyError, ValueError):
            continue
        if said == plain:
            return said
    return plain


def _plain(value: Any) -> Any:
    """Numbers as pydantic writes them: 0 for 0.0."""
    if isinstance(value, float) and value == int(value) and abs(value) < 1e15:
        return int(value)
    return value
