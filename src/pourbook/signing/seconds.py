"""The signature of a second person below one entry of a journal, which is of no other entry and no other journal.

What is signed is one line that names its purpose, the hash of the entry before it as hexadecimal text, and the entry
as it is chained but without this signature; line feeds between them.

>>> second_message(bytes(32), '{"kind":"void"}')[:30]
b'pourbook second person 1\\n00000'
"""

__all__ = ["second_message"]

_PURPOSE = "pourbook second person 1"


def second_message(previous: bytes, entry_text: str) -> bytes:
    """The bytes that a second person signs, given the hash before the entry, and its chained text without signature."""
    return f"{_PURPOSE}\n{previous.hex()}\n{entry_text}".encode("utf-8", "surrogatepass")
