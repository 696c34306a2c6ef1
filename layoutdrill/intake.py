"""Read files that others wrote, never more of them than a bound."""

from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where


def read_bytes(path: Path, most: int, *, name: str | None = None, todo: str = "check the path") -> bytes:
    """
    Return a file's bytes; a device or pipe is read up to the bound too.

    Raises LayoutdrillError: missing, a folder, unreadable, a name that no file can have, or over `most` bytes.
    """
    shown = name or str(path)
    where = Where(shown)
    try:
        with path.open("rb") as file:
            data = file.read(most + 1)
    except FileNotFoundError:
        raise LayoutdrillError("no such file", where=where, todo="check the path") from None
    except IsADirectoryError:
        raise LayoutdrillError("this is a folder", where=where, todo=todo) from None
    except OSError as error:
        raise LayoutdrillError(f"cannot be read ({error.strerror or error})", where=where, todo=todo) from None
    except ValueError:  # a null character
        raise LayoutdrillError(f"no file can have the name {shown!r}", todo="check the path") from None
    if len(data) > most:
        raise LayoutdrillError(f"larger than {most:,} bytes", where=where, todo="split it into several files")
    return data


def decoded(data: bytes, where: str, *, what: str = "not UTF-8 text", todo: str = "save the file as UTF-8") -> str:
    """Return bytes as UTF-8 text. Raises LayoutdrillError with the place of the first byte that is none."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        before = data[data.rfind(b"\n", 0, error.start) + 1 : error.start].decode("utf-8", "replace")
        raise LayoutdrillError(what, where=Where(where, line, len(before) + 1), todo=todo) from None
