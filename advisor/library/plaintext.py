"""Only text: what steers a terminal, reorders a line or cannot stand in XML is taken out of what is read and shown."""

from __future__ import annotations

import json
import re
from typing import Final

_CONTROL: Final = r"\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029"
"""Control characters but tab and the ends of lines, and the line ends of Unicode that no terminal shows as one."""

_UNSEEN: Final = (r"\xad\u061c\u180e\u200b\u200e\u200f\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\ufffe\uffff"
                  "\U000e0000-\U000e007f")
"""What is not seen and may hide or reorder what is: the marks and overrides of the direction of writing, blanks without
width, tags, noncharacters. The two joiners stay: some scripts are not written without them."""

_STEERING: Final = re.compile(rf"([{_UNSEEN}])|[{_CONTROL}]|\r(?!\n)")
_ESCAPED: Final = re.compile(f"[{_CONTROL}{_UNSEEN}]")


def plain_text(text: str) -> str:
    """Text without what is no text: control characters become blanks, what is not seen goes; newlines and tabs stay.

    >>> plain_text("Mill\\x07Lane\\u202e \\x1b[31mboiler")
    'Mill Lane  [31mboiler'
    """
    if text.isprintable():  # nearly all
        return text
    return _STEERING.sub(lambda found: "" if found[1] else " ", text)


def json_text(document: object) -> str:
    """A document as JSON, indented, for a terminal too: what is no text stands there by its code.

    >>> print(json_text({"file": "a\\x9b31m.yaml"}))
    {
      "file": "a\\u009b31m.yaml"
    }
    """
    written = json.dumps(document, indent=2, ensure_ascii=False)
    return _ESCAPED.sub(lambda found: json.dumps(found[0])[1:-1], written)
