# SPDX-License-Identifier: MIT
"""Small faults for C sources: each mutant is one line changed in one place."""

import re

# What is never changed: comments, strings, characters.
QUIET = re.compile(r"/\*.*?\*/|//[^\n]*|\"(?:\\.|[^\"\\])*\"|'(?:\\.|[^'\\])*'", re.S)

SWAPS = {
    "<": ("<=", ">="), "<=": ("<", ">"), ">": (">=", "<="), ">=": (">", "<"),
    "==": ("!=",), "!=": ("==",), "&&": ("||",), "||": ("&&",),
    "+": ("-",), "-": ("+",), "*": ("/",), "/": ("*",), "%": ("*",),
    "<<": (">>",), ">>": ("<<",), "&": ("|",), "|": ("&",), "~": ("",),
    "+=": ("-=",), "-=": ("+=",), "|=": ("=", "&="), "&=": ("=", "|="), "++": ("--",), "--": ("++",),
    "true": ("false",), "false": ("true",),
}
TOKEN = re.compile(r"->|<<=|>>=|<<|>>|<=|>=|==|!=|&&|\|\||\+\+|--|[-+*/%&|^]=|[-+*/%&|^~!<>?:=]"
                   r"|[A-Za-z_]\w*|\d\w*")
# Enumerators of one kind are exchanged for the next one of the same kind that the file uses.
KINDS = re.compile(r"TD_(CAUSE|AXIS|DO|LATCH|SWITCH|BAR|ROLE|RULES|CONTACT|PULL)_[A-Z_]+$")
HEAD = re.compile(r"^[A-Za-z_].*?\b(\w+)\(")
CONTROL = re.compile(r"^\s*(?:\} else )?(if|while|else if) \(")
STATEMENT = re.compile(r"^\s+(?!return\b|const\b|struct\b|enum\b|static\b|break\b|continue\b|case\b|default\b|goto\b)"
                       r"[A-Za-z_*(][^;={}]*(?:[-+|&*/]?= .*|\(.*\)|\+\+|--);\s*$")
DECLARATION = re.compile(r"^\s+(?:uint\d+_t|int\d+_t|td_ns|bool|int|size_t|unsigned|char|double|td_\w+) \*?\w+")
# What is 0 already.
ZERO = re.compile(r"^(0|true|false|NULL|TD_\w+_(NONE|OK|NO_EDGE))$")
ROW = re.compile(r"^(\s*X\()([A-Z_]+), *([A-Z_]+), *([A-Z_]+), *([A-Z_]+)\)")


class Mutant:
    """One changed line; `key` names it without a line number."""

    def __init__(self, path, function, number, before, after):
        self.path, self.function, self.number = path, function, number
        self.before, self.after = before, after
        self.key = (path, function, before.strip(), after.strip())

    def __str__(self):
        return (f"{self.path} {self.function}\n    - {self.before.strip()}\n    + {self.after.strip()}")

    def text(self, lines):
        """The whole source with the change in it."""
        return "".join(lines[:self.number] + [self.after + "\n"] + lines[self.number + 1:])


def blank(text):
    """The text with comments and strings overwritten, so that only code is left; same length."""
    return QUIET.sub(lambda m: re.sub(r"[^\n]", " ", m.group()), text)


def is_binary(code, start):
    """An operator with something to its left to work on."""
    left = code[:start].rstrip()
    return bool(left) and (left[-1].isalnum() or left[-1] in "_)]") and not left.endswith("return")


def is_pointer(code, match):
    """A '*' of a declaration or a dereference."""
    return not is_binary(code, match.start()) or code[match.end():match.end() + 1] != " "


def swaps(code, names):
    """(start, end, replacement) for every token that can be exchanged."""
    for match in TOKEN.finditer(code):
        token = match.group()
        if token[0].isdigit():
            yield from numbers(match)
        elif KINDS.match(token):
            yield match.start(), match.end(), next_name(token, names)
        elif token == "!":
            yield match.start(), match.end(), ""
        elif token in ("*", "&", "-", "+") and is_pointer(code, match):
            continue
        else:
            for other in SWAPS.get(token, ()):
                yield match.start(), match.end(), other


def numbers(match):
    token = match.group()
    if token.isdigit():
        for other in (int(token) + 1, int(token) - 1):
            if other >= 0:
                yield match.start(), match.end(), str(other)


def next_name(token, names):
    """The next enumerator of the same kind, in alphabetic order, round and round."""
    kind = sorted(n for n in names if KINDS.match(n).group(1) == KINDS.match(token).group(1))
    return kind[(kind.index(token) + 1) % len(kind)]


def whole(code):
    """Mutants of a statement as a whole: a condition negated, a statement deleted."""
    condition = CONTROL.match(code)
    if condition:
        close = code.rfind(")")
        if close > condition.end() and code.count("(") == code.count(")"):
            yield condition.end(), close, "!(" + code[condition.end():close] + ")"
    elif STATEMENT.match(code) and not DECLARATION.match(code) and code.count("(") == code.count(")"):
        start = len(code) - len(code.lstrip())
        yield start, len(code.rstrip()), ";"
    returned = re.match(r"^\s*return (.+);\s*$", code)
    if returned and not ZERO.search(returned.group(1)):
        yield returned.start(1), returned.end(1), "0"


def table_row(code, actions, states):
    """A row of the table of transitions: another action, another next state."""
    row = ROW.match(code)
    if not row:
        return
    for group, names in ((4, actions), (5, states)):
        token = row.group(group)
        yield row.start(group), row.end(group), names[(names.index(token) + 1) % len(names)]


def mutants_of(path):
    """Every mutant of one source, in the order of its lines."""
    with open(path, encoding="utf-8") as source:
        text = source.read()
    lines, code = text.splitlines(), blank(text).splitlines()
    names = {m.group() for m in re.finditer(r"\bTD_[A-Z_]+\b", "\n".join(code)) if KINDS.match(m.group())}
    rows = [ROW.match(line) for line in code]
    actions = sorted({row.group(4) for row in rows if row})
    states = sorted({row.group(5) for row in rows if row})
    function, head, in_macro = "", "", False
    for i, line in enumerate(code):
        if re.match(r"^[A-Za-z_]", line) and HEAD.match(line) and not line.rstrip().endswith(";"):
            head = HEAD.match(line).group(1)
        if line.startswith("{"):
            function = head
        changes = []
        if in_macro or line.startswith("#"):
            changes = list(table_row(line, actions, states))
        elif function:
            changes = list(swaps(line, names)) + list(whole(line))
        in_macro = line.endswith("\\")
        seen = set()
        for start, end, other in changes:
            after = lines[i][:start] + other + lines[i][end:]
            if after != lines[i] and after not in seen:
                seen.add(after)
                yield Mutant(path, function or "table", i, lines[i], after)
        if line.startswith("}"):
            function = ""
