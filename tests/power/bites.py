# SPDX-License-Identifier: MIT
"""That promises.py notices anything: what a guest might say before a cut and after it, and how many promises are broken."""

import promises

BEGIN = (
    "at=100 found latch=0 latched=0 closed=1 locked=0 powered_ms=0,0,0,0 starts=0,0,0,0",
    "at=110 trips=0",
    "at=200 ready trips=0",
    "at=210 began latch=0 locked=0 net=0 doubt=0 trips=0",
    "at=220 half-made traces=0 beside=0",
)
DRIVEN = (
    "at=300 truth powered_ms=9000,0,0,0 starts=1,0,0,0",
    "at=20000 truth powered_ms=20000,0,0,0 starts=2,0,0,0",
)
LOCKED = (
    "at=300 status latch=0 locked=32 net=0 doubt=0 trips=0",
    "at=4300 sure latch=0 locked=32 net=0 doubt=0 trips=0",
)
TURNED = ("at=300 status latch=0 locked=0 net=100 doubt=50 trips=0",)

RESET = ("at=300 try latch", "at=310 acked latch all", "at=320 try reset all", "at=330 acked reset all")
AGAIN = ("power",)  # it comes again


def found(latch=0, locked=0, powered_ms=0, starts=0, latched=0):
    return (f"at=100 found latch={latch} latched={latched} closed=0 locked={locked} powered_ms={powered_ms},0,0,0 starts={starts},0,0,0",)


def began(net, doubt):
    return found() + ("at=120 ready trips=0", f"at=130 began latch=0 locked=0 net={net} doubt={doubt} trips=0")


# What is broken, before the cut, after it.
CASES = (
    (0, ("at=300 try latch", "at=310 acked latch all"), found(latch=1)),
    (1, ("at=300 try latch", "at=310 acked latch all"), found(latch=0)),
    (0, ("at=300 try latch",), found(latch=0)),
    (0, ("at=300 try latch",), found(latch=1)),
    (1, RESET, found(latch=1)),
    (1, (), found(latch=1)),
    (0, RESET, found(latched=1)),
    (0, RESET, found(latched=1) + AGAIN + found(latch=1)),
    (1, RESET, found(latched=0) + AGAIN + found(latch=1)),
    (1, RESET + ("at=4330 truth powered_ms=0,0,0,0 starts=0,0,0,0",), found(latched=1)),
    (0, DRIVEN, found(powered_ms=5000, starts=1)),
    (1, DRIVEN, found(powered_ms=4999, starts=1)),
    (1, DRIVEN, found(powered_ms=5000, starts=0)),
    (1, DRIVEN + ("at=20100 closed code=0 trips=0",), found(powered_ms=20000, starts=1)),
    (0, RESET + ("at=4329 truth powered_ms=0,0,0,0 starts=0,0,0,0",), found(latched=1)),
    (0, LOCKED, found(locked=32)),
    (0, LOCKED[:1] + ("at=4299 sure latch=0 locked=32 net=0 doubt=0 trips=0",), found(locked=16)),
    (1, LOCKED, found(locked=16)),
    (0, LOCKED[:1], found(locked=0)),
    (0, LOCKED + ("at=4400 try reset boom",), found(locked=0)),
    (0, TURNED, began(net=20, doubt=130)),
    (1, TURNED, began(net=20, doubt=120)),
    (0, TURNED + ("at=400 try untwisted", "at=410 acked untwisted all"), began(net=0, doubt=0)),
    (0, ("at=300 status latch=0 locked=0 net=0 doubt=0 trips=2",), found() + ("at=110 trips=2",)),
    (1, ("at=300 status latch=0 locked=0 net=0 doubt=0 trips=2",), found() + ("at=110 trips=1",)),
    (1, (), ("at=100 bad record: damaged",)),
    (1, (), found() + ("at=110 trace name=run-00000001.vcd verdict=2 cut in the head",)),
    (1, (), found() + ("at=300 half-made traces=1 beside=0",)),
    (1, (), found() + ("at=300 half-made traces=0 beside=3",)),
    (1, (), ("daemon.log: the daemon did not come up",)),
)


def wrong():
    """The cases that come to something else."""
    cases = []
    for number, (count, before, after) in enumerate(CASES, 1):
        told = promises.Promises()
        for lines in (BEGIN + before, after):
            told.power_came()
            for line in lines:
                if line == AGAIN[0]:
                    told.power_came()
                else:
                    told.hear(line)
        if len(told.broken) != count:
            cases.append(f"case {number}: {len(told.broken)} broken, {count} expected: {told.broken}")
    return cases
