"""The customer's private link: a random secret of which only the hash is kept."""

from hashlib import sha256
from secrets import token_urlsafe

SECRET_BYTES = 32


def fresh_token() -> str:
    """A new secret of 256 random bits, to be shown once."""
    return token_urlsafe(SECRET_BYTES)


def hashed(token: str) -> str:
    """What is stored of it and searched by."""
    return sha256(token.encode()).hexdigest()
