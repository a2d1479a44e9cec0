# SPDX-License-Identifier: MIT
"""What follows from what the guest said before a power cut for what the next start must find.

R10   the latched stop is as it was acknowledged; while a call is under way, as before or after it; and it may be back, on the safe side,
      where a record from before the reset is the newest, for as long as one with other locks can be late
R11   a lock that is older than that is kept
R12   hours: of what a motor was powered at most the charge is missing; starts: those of the last seconds at most
R18   the cable: its doubt grew by what its net turns may have changed unseen
      traces: a trip's file that was counted is there; whatever has a name can be read and is what the core does
"""

AXES = 4
CHARGE_MS = 15000  # TD_RECORD_CHARGE_NS
# A record is laid a second after its news and looked for once a second at rest; with another latch or other locks it is
# written at once, else every ten seconds (TD_RECORD_EVERY_NS); and a slow disk.
SLOW_DISK_MS = 2000
BARRED_LATE_MS = 2000 + SLOW_DISK_MS
LATE_MS = BARRED_LATE_MS + 10000
ROUNDING_DEGREES = 2


def numbers(text):
    return [int(part) for part in text.split(",")]


def fields(words):
    return dict(word.split("=", 1) for word in words if "=" in word)


class Promises:
    """Fed line by line; `broken` is what was not kept."""

    def __init__(self):
        self.latch = {False}
        self.reset_ms = None  # this start: when its reset was acknowledged
        self.locked_sure = 0
        self.locked_ms = {}  # bit -> since when it is seen
        self.trips = 0
        self.trips_before = 0
        self.base_powered = [0] * AXES  # as found at this start
        self.base_starts = [0] * AXES
        self.truth_powered = [0] * AXES  # since then
        self.starts = [(0, [0] * AXES)]  # when, ever
        self.net = self.doubt = None
        self.untwisted_ms = None  # this start: a record of before may still be the one that is kept
        self.now_ms = 0
        self.broken = []
        self.lines = []
        self.checked = 0
        self.counts = {}

    def count(self, what):
        self.counts[what] = self.counts.get(what, 0) + 1

    def must(self, kept, what):
        self.checked += 1
        if not kept:
            self.broken.append(what)

    def hear(self, line):
        self.lines.append(line)
        words = line.split()
        if not words:
            return
        if words[0].startswith("at="):
            self.now_ms = int(words[0][3:])
            words = words[1:]
        known = getattr(self, "on_" + words[0].split("=")[0].replace("-", "_"), None)
        if known:
            known(words, fields(words))
        elif words[0] != "mark" and words[:2] != ["#", "seed:"]:
            self.broken.append(f"the guest says: {line}")

    # --- what a start finds

    def power_came(self):
        """A new start of the machine; what was promised stays."""
        self.ended_ms, self.now_ms = self.now_ms, 0
        self.untwisted_ms = None
        self.lines = []

    def on_found(self, _, found):
        latch = found["latch"] == "1"
        self.must(latch in self.latch, f"R10: the latched stop is {'on' if latch else 'off'}, not as acknowledged")
        recorded = found["latched"] == "1"
        if self.reset_ms is not None and self.latch == {False} and self.ended_ms - self.reset_ms >= BARRED_LATE_MS:
            self.must(not recorded, "R10: the record says latched, and the reset is older than a record can be late")
        self.latch = {latch, latch or recorded}
        self.reset_ms = None
        locked = int(found["locked"])
        self.must(self.locked_sure & ~locked == 0, f"R11: locks {self.locked_sure:b} were certain, {locked:b} are kept")
        self.locked_sure, self.locked_ms = 0, {}
        self.powered_is_kept(numbers(found["powered_ms"]))
        self.starts_are_kept(numbers(found["starts"]))

    def powered_is_kept(self, kept):
        for axis in range(AXES):
            truth = self.base_powered[axis] + self.truth_powered[axis]
            self.must(
                kept[axis] + CHARGE_MS >= truth,
                f"R12: axis {axis} was powered for {truth} ms at least, {kept[axis]} ms are kept: more than the charge is missing",
            )
        self.base_powered, self.truth_powered = kept, [0] * AXES

    def starts_are_kept(self, kept):
        sure = max((s for s in self.starts if s[0] <= self.ended_ms - LATE_MS), default=self.starts[0], key=lambda s: s[0])
        for axis in range(AXES):
            self.must(kept[axis] >= sure[1][axis], f"R12: {kept[axis]} starts of axis {axis} are kept, {sure[1][axis]} were certain")
        self.base_starts, self.starts = kept, [(0, kept)]

    def on_trace(self, words, trace):
        self.count("traces read")
        self.must(trace["verdict"] == "0", f"trace {' '.join(words[1:])}")

    def on_trips(self, _, found):
        self.must(int(found["trips"]) >= self.trips, f"the newest trip's file is {found['trips']}, {self.trips} was certain")

    def on_half_made(self, _, left):
        self.must(left["traces"] == "0" and int(left["beside"]) <= 2, f"half-made files are left: {left}")

    def on_bad(self, words, _):
        self.must(False, " ".join(words))

    def on_ended(self, words, _):
        if words[1] != "code=0":
            self.must(False, "the guest ended: " + " ".join(words))

    def on_stderr(self, words, _):
        self.broken.append(" ".join(words))

    # --- what is promised from here on

    def on_ready(self, _, at):
        self.trips_before = int(at["trips"])

    def on_began(self, words, status):
        net, doubt = int(status["net"]), int(status["doubt"])
        if self.net is not None:
            self.must(
                doubt + ROUNDING_DEGREES >= self.doubt + abs(net - self.net),
                f"R18: {net} of a doubt of {doubt} degrees, after {self.net} of {self.doubt} degrees",
            )
        self.on_status(words, status)

    def on_status(self, _, status):
        if self.untwisted_ms is None or self.now_ms - self.untwisted_ms >= LATE_MS:
            self.net, self.doubt = int(status["net"]), int(status["doubt"])
        if status["latch"] == "1":
            self.latch = {True}
        self.trips = max(self.trips, self.trips_before + int(status["trips"]))
        locked = int(status["locked"])
        self.locked_ms = {bit: self.locked_ms.get(bit, self.now_ms) for bit in range(2 * AXES) if locked >> bit & 1}

    def on_sure(self, words, status):
        self.on_status(words, status)
        for bit, since_ms in self.locked_ms.items():
            if self.now_ms - since_ms >= BARRED_LATE_MS:
                self.locked_sure |= 1 << bit

    def on_truth(self, _, truth):
        self.truth_powered = numbers(truth["powered_ms"])
        ever = [base + now for base, now in zip(self.base_starts, numbers(truth["starts"]))]
        self.starts.append((self.now_ms, ever))

    def on_try(self, words, _):
        if words[1] == "latch":
            self.latch.add(True)
        elif words[1] == "untwisted":
            self.net = self.doubt = None
            self.untwisted_ms = self.now_ms
        elif words[2] == "all":
            self.latch.add(False)
            self.locked_sure, self.locked_ms = 0, {}
        else:
            self.locked_sure, self.locked_ms = 0, {}

    def on_acked(self, words, _):
        self.count(f"{words[1]} acknowledged")
        if words[1] == "latch":
            self.latch = {True}
        elif words[1] == "reset" and words[2] == "all":
            self.latch = {False}
            self.reset_ms = self.now_ms

    def on_closed(self, _, closed):
        """Ended in order: all of it is on the disk."""
        self.count("ended in order")
        self.must(closed["code"] == "0", f"the daemon ended with {closed['code']}")
        self.starts = [(0, self.starts[-1][1])]
        self.trips = max(self.trips, int(closed["trips"]))
