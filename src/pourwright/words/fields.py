"""The type of a pydantic field that keeps a sentence as it was said."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import WrapValidator

from pourwright.words.said import Said
from pourwright.words.values import Own


def _keep(value: Any, handler: Any) -> Any:
    text = handler(value)
    return value if isinstance(value, Said | Own) and str(value) == text else text


Text = Annotated[str, WrapValidator(_keep)]
"""A field of text that keeps a `Said` as it is; in JSON and schemas a plain string."""
