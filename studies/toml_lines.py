"""Line numbers of the keys of a TOML text, so that a message can name the line of a fault."""

import tomllib
from bisect import bisect_right
from collections.abc import Callable

KeyPath = tuple[str | int, ...]
BARE_END = frozenset(" \t\r\n.=]#,}")
VALUE_END = frozenset(",]}#\r\n")


def key_lines(text: str) -> dict[KeyPath, int]:
    r"""Map each key of a valid TOML text to the line it stands on (the first line is 1).

    A path is the tuple of names down to the key, with whole numbers for the items of arrays; tables are
    listed under the line of their header or of the dotted key that first makes them. The text must be valid
    (have passed `tomllib.loads`).

    Examples
    --------
    >>> key_lines('name = "a"\n[roof]\nspan_m = 24\nvault.rise = 1')
    {('name',): 1, ('roof',): 2, ('roof', 'span_m'): 3, ('roof', 'vault'): 4, ('roof', 'vault', 'rise'): 4}
    """
    return _Scanner(text).scan()


class _Scanner:
    """Walks the text once; holds the place and what has been found so far."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.place = 0
        self.breaks = [i for i, char in enumerate(text) if char == "\n"]
        self.lines: dict[KeyPath, int] = {}
        self.items: dict[KeyPath, int] = {}

    def scan(self) -> dict[KeyPath, int]:
        prefix: KeyPath = ()
        while self._skip_blank():
            if self.text.startswith("[[", self.place):
                self.place += 2
                prefix = self._new_item(self._key(()))
                self._pass_over("]]")
            elif self.text.startswith("[", self.place):
                self.place += 1
                prefix = self._key(())
                self._pass_over("]")
            else:
                path = self._key(prefix)
                self._pass_over("=")
                self._value(path)
        return self.lines

    def _here(self) -> str:
        return self.text[self.place : self.place + 1]

    def _note(self, path: KeyPath) -> None:
        self.lines.setdefault(path, bisect_right(self.breaks, self.place - 1) + 1)

    def _skip_blank(self) -> bool:
        """Move to the next character that means something; say whether there is one."""
        while self.place < len(self.text):
            char = self.text[self.place]
            if char == "#":
                end = self.text.find("\n", self.place)
                self.place = len(self.text) if end < 0 else end
            elif char in " \t\r\n":
                self.place += 1
            else:
                return True
        return False

    def _pass_over(self, sign: str) -> None:
        self._skip_blank()
        self.place += len(sign)

    def _key(self, prefix: KeyPath) -> KeyPath:
        """Read a dotted key; note each name on the way; enter the latest item of an array of tables."""
        path = prefix
        while self._skip_blank():
            start = self.place
            name = self._quoted_name() if self._here() in "\"'" else self._bare_name()
            path = (*path, name)
            self.place, end = start, self.place
            self._note(path)
            self.place = max(end, start + 1)
            self._skip_blank()
            if self._here() != ".":
                break
            self.place += 1
            path = (*path, self.items[path]) if path in self.items else path
        return path

    def _bare_name(self) -> str:
        start = self.place
        while self.place < len(self.text) and self.text[self.place] not in BARE_END:
            self.place += 1
        return self.text[start : self.place]

    def _quoted_name(self) -> str:
        start = self.place
        self._string()
        return str(tomllib.loads(f"name = {self.text[start : self.place]}")["name"])

    def _new_item(self, path: KeyPath) -> KeyPath:
        self.items[path] = self.items.get(path, -1) + 1
        item = (*path, self.items[path])
        self._note(item)
        return item

    def _value(self, path: KeyPath) -> None:
        self._skip_blank()
        sign = self._here()
        if sign and sign in "\"'":
            self._string()
        elif sign == "{":
            self._inside("}", lambda _: self._entry(path))
        elif sign == "[":
            self._inside("]", lambda count: self._item((*path, count)))
        else:
            while self.place < len(self.text) and self.text[self.place] not in VALUE_END:
                self.place += 1

    def _inside(self, end: str, read: Callable[[int], None]) -> None:
        """Read comma-separated things up to the closing sign."""
        self.place += 1
        count = 0
        while self._skip_blank() and self._here() != end:
            read(count)
            count += 1
            if self._skip_blank() and self._here() == ",":
                self.place += 1
        self.place += 1

    def _entry(self, path: KeyPath) -> None:
        inner = self._key(path)
        self._pass_over("=")
        self._value(inner)

    def _item(self, path: KeyPath) -> None:
        self._note(path)
        self._value(path)

    def _string(self) -> None:
        """Move past a string of any of the four kinds."""
        quote = self._here()
        mark = quote * 3 if self.text.startswith(quote * 3, self.place) else quote
        self.place += len(mark)
        while self.place < len(self.text) and not self.text.startswith(mark, self.place):
            self.place += 2 if quote == '"' and self._here() == "\\" else 1
        self.place += len(mark)
        while len(mark) == 3 and self._here() == quote:  # up to two quotes may stand before the closing three
            self.place += 1
