"""Tolerances of a survey from a TOML file: the table ``[survey]``, key to text."""

import tomllib
from pathlib import Path

from fea.document.read import read_text
from fea.errors import Complaint, DocumentError


def read_survey_table(path: Path) -> dict[str, str]:
    """Return the table ``[survey]`` of a file, each value as the text in it.

    Raises
    ------
    DocumentError
        If the file cannot be read, has no such table, or a value in it is not text.
    """
    text = read_text(path)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise DocumentError(
            Complaint("this file is not valid TOML", str(path), do=f"mend it: {error}")
        ) from None
    table = data.get("survey")
    if not isinstance(table, dict) or not table:
        do = 'write [survey] and below it lines such as twist = "0.25 deg"'
        raise DocumentError(Complaint("there is no table [survey] in it", str(path), do=do))
    wrong = [
        Complaint(
            f"{key} must be text",
            f'{path}, survey, key "{key}"',
            str(value),
            'write it with its unit in quotes, such as "3 mm"',
        )
        for key, value in table.items()
        if not isinstance(value, str)
    ]
    if wrong:
        raise DocumentError(*wrong)
    return dict(table)
