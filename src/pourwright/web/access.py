"""Keys on the shelf: the secret that signs sessions, and the pass phrase as an argon2 hash."""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass
from pathlib import Path

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from pourwright.errors import InputError
from pourwright.store.files import write_whole
from pourwright.words import say

SHORTEST = 12
"""A pass phrase has at least this many signs."""
_hasher = PasswordHasher()


@dataclass(frozen=True)
class Keys:
    """The secret [-] that signs, and the hash [-] of the pass phrase (empty when there is none)."""

    secret: str
    phrase_hash: str

    def right(self, phrase: str) -> bool:
        """Whether `phrase` [-] is the pass phrase."""
        if not self.phrase_hash:
            return False
        try:
            return _hasher.verify(self.phrase_hash, phrase[:400])
        except (VerificationError, InvalidHashError):
            return False


def load_keys(data: Path) -> Keys:
    """The keys in folder `data` [-], made on the first call; readable by their owner alone."""
    path = data / "keys.json"
    try:
        kept = json.loads(path.read_text("utf-8"))
        return Keys(str(kept["secret"]), str(kept["phrase"]))
    except (FileNotFoundError, ValueError, KeyError, TypeError):
        keys = Keys(secrets.token_urlsafe(48), "")
        _keep(path, keys)
        return keys


def set_phrase(data: Path, phrase: str) -> Keys:
    """Set the pass `phrase` [-] in folder `data`; all who were signed in must sign in again."""
    phrase = phrase.strip("\r\n")
    if len(phrase) < SHORTEST or len(phrase) > 400 or len(set(phrase)) < 5:
        raise InputError(
            "pass phrase", f"{len(phrase)} signs",
            say("{shortest} to 400 signs, not all alike", shortest=SHORTEST),
            "Take three or four words that nobody guesses.",
        )  # fmt: skip
    keys = Keys(secrets.token_urlsafe(48), _hasher.hash(phrase))
    data.mkdir(parents=True, exist_ok=True, mode=0o700)
    _keep(data / "keys.json", keys)
    return keys


def _keep(path: Path, keys: Keys) -> None:
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    write_whole(path, json.dumps({"secret": keys.secret, "phrase": keys.phrase_hash}))
    path.chmod(0o600)
