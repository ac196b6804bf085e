"""The letterhead: what stands over each sheet of a shop, read from a small settings file of its own."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from advisor.library.yamlfiles import Fields, LibraryError, Problem, parse_yaml, read_text

CHOICE: Final = "BURNER_ADVISOR_SHOP"
_FOLDER: Final = "burner-advisor"
_NAME: Final = "shop.yaml"

MONTHS: Final = 12.0
"""From one yearly service to the next, where the shop says nothing else; common practice."""
_MOST_MONTHS: Final = 60.0

EXAMPLE: Final = """name: Harbor Street Oil Heat
address: [12 Harbor Street, "Milltown, ME 04000"]
telephone: 207 555 0100
license: "1234, oil burner technician"
technician: A. Example          # who makes the visits, where no other name is given
service every: 12               # months from one yearly service to the next
"""
"""A settings file; every line may be left out."""


@dataclass(frozen=True, slots=True)
class Shop:
    """Who hands over the report. Every field may be empty.

    Parameters
    ----------
    name, telephone, license, technician : str
        As they shall stand on the page.
    address : tuple of str
        In lines.
    months : float
        From one yearly service to the next, 1 to 60.
    """

    name: str = ""
    address: tuple[str, ...] = ()
    telephone: str = ""
    license: str = ""
    technician: str = ""
    months: float = MONTHS

    @property
    def lines(self) -> tuple[str, ...]:
        """What stands below the name: the address on one line, then telephone and license.

        >>> Shop("Harbor Oil", ("12 Harbor Street", "Milltown"), "555 0100").lines
        ('12 Harbor Street, Milltown', 'Telephone 555 0100')
        """
        reach = [f"Telephone {self.telephone}"] if self.telephone else []
        reach += [f"License {self.license}"] if self.license else []
        return tuple(line for line in (", ".join(self.address), " · ".join(reach)) if line)


def usual_place() -> Path | None:
    """Where the settings stand when nobody names a file: `BURNER_ADVISOR_SHOP` where it is set, else the user's
    settings folder as the system has it. None for a user without a home folder.
    """
    chosen = os.environ.get(CHOICE, "")
    if chosen:
        return Path(os.path.expanduser(chosen))
    import platformdirs  # only here: most verbs never ask for it

    try:
        return platformdirs.user_config_path(_FOLDER, appauthor=False) / _NAME
    except RuntimeError:
        return None


def read_shop(path: Path | None = None) -> Shop:
    """The shop of a settings file; by default of that in the usual place, where there is one.

    Parameters
    ----------
    path : Path, optional
        A file that must be there. So must the one that `BURNER_ADVISOR_SHOP` names.

    Raises
    ------
    LibraryError
        With every problem of the file, one line each.
    """
    place = path or usual_place()
    if place is None or (path is None and not os.environ.get(CHOICE) and not place.exists()):
        return Shop()
    return parse_shop(read_text(place, str(place)), str(place))


def parse_shop(text: str, file: str) -> Shop:
    """The shop in a text.

    Parameters
    ----------
    text : str
        YAML with `name`, `address` (a text or a list of lines), `telephone`, `license`, `technician` and
        `service every` (months, 1 to 60), all optional.
    file : str
        What the text is called in messages.

    Raises
    ------
    LibraryError
        With every problem of the text, one line each.

    Examples
    --------
    >>> parse_shop(EXAMPLE, "shop.yaml").telephone
    '207 555 0100'
    >>> parse_shop("name: Harbor Oil\\nphone: 555 0100", "shop.yaml")
    Traceback (most recent call last):
    advisor.library.yamlfiles.LibraryError: shop.yaml:2: shop: unknown key `phone`; known are name, address, \
telephone, license, technician, service every
    """
    root = parse_yaml(text, file)
    if root.value in ([], "", {}):
        return Shop()
    problems: list[Problem] = []
    fields = Fields(root, problems, "shop")
    shop = Shop(fields.text("name", ""), fields.texts("address"), fields.text("telephone", ""),
                fields.text("license", ""), fields.text("technician", ""), fields.number("service every", MONTHS))
    fields.done()
    if not 1 <= shop.months <= _MOST_MONTHS:
        fields.wrong(f"shop: `service every: {shop.months:g}` must be months from 1 to {_MOST_MONTHS:g}, such as 12")
    if problems:
        raise LibraryError(problems)
    return shop
