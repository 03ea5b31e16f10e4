"""Files of people are read within bounds; files of the package appear complete, or not at all."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from secrets import token_hex
from typing import Any, BinaryIO

from .errors import QuantityError

MEGABYTE = 1_000_000
"""Bytes."""


def read_file(path: str | os.PathLike[str], what: str, *, largest: int) -> bytes:
    """Return the content of a file of bounded size.

    Parameters
    ----------
    path : path
        Which file.
    what : str
        What it is meant to be, for the error message: "design file".
    largest : int
        Bytes that are read at most.

    Raises
    ------
    QuantityError
        If it cannot be read, or is larger.
    """
    name = str(path)[-80:]
    try:
        with Path(path).open("rb") as file:
            raw = file.read(largest + 1)
    except (OSError, ValueError, TypeError) as problem:  # ValueError: a name with a zero byte
        raise QuantityError(
            what,
            repr(name),
            allowed="the path of a file that can be read",
            remedy=f"Check the name ({type(problem).__name__}).",
        ) from None
    if len(raw) > largest:
        raise QuantityError(
            f"{what} {Path(path).name}",
            "more than that",
            allowed=f"up to {largest // MEGABYTE} MB" if largest >= MEGABYTE else f"up to {largest} bytes",
            remedy="Cut it into smaller files.",
        )
    return raw


def read_text(path: str | os.PathLike[str], what: str, *, largest: int) -> str:
    """Return the text of a UTF-8 file of bounded size, without byte order mark.

    Parameters
    ----------
    path : path
        Which file.
    what : str
        What it is meant to be, for the error message.
    largest : int
        Bytes that are read at most.

    Raises
    ------
    QuantityError
        If it cannot be read, is larger, or is no UTF-8.
    """
    raw = read_file(path, what, largest=largest)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise QuantityError(
            f"{what} {Path(path).name}",
            f"byte {raw[problem.start]:#04x} at place {problem.start}",
            allowed="text in UTF-8",
            remedy="Save it as UTF-8 in the editor that made it.",
        ) from None


def read_tables(path: str | os.PathLike[str], what: str, *, largest: int) -> dict[str, Any]:
    """Return the tables of a TOML file of bounded size.

    Parameters
    ----------
    path, what, largest
        As in `read_text`.

    Raises
    ------
    QuantityError
        If it cannot be read or is no TOML.
    """
    text = read_text(path, what, largest=largest)
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: no TOML, or a number of thousands of digits
        raise QuantityError(
            Path(path).name, f"{error}"[:200], allowed="TOML", remedy="Mend the line that is named."
        ) from None


def write_at_once(path: str | os.PathLike[str], content: str | bytes) -> Path:
    """Write a file in one step: an old one stays whole until the new one is complete.

    Parameters
    ----------
    path : path
        Where; the folder must exist.
    content : str or bytes
        What; text is written as UTF-8 with the line ends that it has.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    QuantityError
        If there is no such folder, the name is that of a folder, or no file can be made there.
    """
    target = Path(path)
    _require_place(target)
    raw = content.encode("utf-8") if isinstance(content, str) else content
    beside = target.with_name(f".{target.name}.{token_hex(8)}.new")
    new = _new_file(beside, target)
    try:
        with new as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(target)
    finally:
        beside.unlink(missing_ok=True)
    return target


def _require_place(target: Path) -> None:
    if _is_folder(target):
        raise QuantityError(
            "file", str(target), allowed="the name of a file", remedy="This is a folder: add a name to it."
        )


def _is_folder(place: Path) -> bool:
    try:
        return place.is_dir()
    except OSError:  # a name that no file can have
        return False


def _new_file(beside: Path, target: Path) -> BinaryIO:
    try:
        return beside.open("xb")
    except (FileNotFoundError, NotADirectoryError):
        raise QuantityError(
            f"folder of {target.name}",
            str(target.parent),
            allowed="a folder that exists",
            remedy="Make the folder first, or check its name.",
        ) from None
    except (OSError, ValueError) as problem:  # ValueError: a name with a zero byte
        raise QuantityError(
            "file",
            repr(str(target)[-80:]),
            allowed="a place where a file can be written",
            remedy=f"Check its name and the rights of the folder ({type(problem).__name__}).",
        ) from None
