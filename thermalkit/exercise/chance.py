"""Random numbers that follow from a secret: the same seed, the same class; nothing tells the seed."""

from __future__ import annotations

import hashlib
import secrets

import numpy as np

from thermalkit.errors import ThermalkitError
from thermalkit.language import say

LEAST_BITS = 128
_BITS = 256
_HEX = set("0123456789abcdef")


class WeakSeed(ThermalkitError):
    """A seed that could be guessed."""


def new_seed() -> str:
    """A secret seed in hexadecimal digits, from the system's source of randomness."""
    return secrets.token_hex(_BITS // 8)


def checked_seed(text: str) -> str:
    """A seed that somebody typed.

    Raises
    ------
    WeakSeed
        No hexadecimal digits, fewer than 128 bits, or a pattern that holds far fewer.

    Examples
    --------
    >>> checked_seed("00112233445566778899AABBCCDDEEFF")
    '00112233445566778899aabbccddeeff'
    """
    seed = text.strip().lower()
    if set(seed) - _HEX or 4 * len(seed) < LEAST_BITS or len(set(seed)) < 4:
        raise WeakSeed(say("exercise.weak-seed", digits=LEAST_BITS // 4, bits=LEAST_BITS))
    return seed


def generator(seed: str, *path: str | int) -> np.random.Generator:
    """Random numbers of one part of a class, independent of every other part.

    Examples
    --------
    >>> one, other = (generator("ab" * 16, "case", n).random() for n in (1, 2))
    >>> one != other
    True
    """
    text = "\x1f".join([seed, *map(str, path)])
    return np.random.default_rng(int.from_bytes(hashlib.sha256(text.encode()).digest(), "big"))
