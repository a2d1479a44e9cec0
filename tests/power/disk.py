# SPDX-License-Identifier: MIT
"""A disk with a cache that forgets, behind a socket that an emulator takes as a block device.

The protocol is that of network block devices (NBD, fixed newstyle negotiation; the numbers are from memory of its public
description, and the emulator is a second opinion on them). What was written is safe once a flush that came after it was
answered, or if it was to be safe by itself (FUA). Of everything else a power cut keeps any part: each sector of each
write on its own, as a disk may that writes its cache in any order.
"""

import os
import socket
import struct
import threading

SECTOR = 512
MAGIC = 0x4E42444D41474943
OPTIONS = 0x49484156454F5054
ANSWER = 0x0003E889045565A9
ASKED, REPLIED = 0x25609513, 0x67446698
FIXED, NO_ZEROES = 1, 2
HAS_FLAGS, CAN_FLUSH, CAN_FUA = 1, 4, 8
OPT_EXPORT_NAME, OPT_ABORT, OPT_INFO, OPT_GO = 1, 2, 6, 7
REP_ACK, REP_INFO, REP_UNSUPPORTED = 1, 3, 0x80000001
READ, WRITE, DISCONNECT, FLUSH = 0, 1, 2, 3
FUA = 1


class Gone(Exception):
    """The other end is gone."""


class Dark(Exception):
    """The power is gone."""


class Disk:
    """One disk: `safe` is what a power cut leaves for certain, `seen` what its reader sees."""

    def __init__(self, image):
        self.safe = bytearray(image)
        self.seen = bytearray(image)
        self.waiting = []  # sectors written since the last flush, in order: (offset, bytes)
        self.lock = threading.Lock()
        self.written = 0  # bytes ever
        self.calls = 0  # writes and flushes since the power came
        self.cut_after = None  # of those
        self.dark = threading.Event()  # the power is gone: nothing is answered any more
        self.off = threading.Event()  # and so is the machine

    def power_on(self, path, cut_after):
        """Serves one connection at the socket `path`; after that many writes and flushes the power goes."""
        self.calls, self.cut_after = 0, cut_after
        self.dark, self.off = threading.Event(), threading.Event()
        listener = socket.socket(socket.AF_UNIX)
        listener.bind(path)
        listener.listen(1)
        threading.Thread(target=self.serve, args=(listener, path), daemon=True).start()

    def power_off(self, dice):
        """What was not safe is kept in part. The machine must be off."""
        self.off.set()
        with self.lock:
            kept = lost = 0
            share = dice.choice((0.0, 0.2, 0.5, 0.8, 1.0))
            for offset, sector in self.waiting:
                if dice.random() < share:
                    self.safe[offset : offset + SECTOR] = sector
                    kept += 1
                else:
                    lost += 1
            self.waiting = []
            self.seen[:] = self.safe
        return kept, lost

    # --- the connection

    def serve(self, listener, path):
        line, _ = listener.accept()
        listener.close()
        os.unlink(path)
        try:
            self.greet(line)
            while True:
                self.answer(line)
        except Dark:
            self.off.wait()  # an error would be an answer
        except (Gone, OSError):
            pass
        line.close()

    @staticmethod
    def take(line, count):
        got = bytearray()
        while len(got) < count:
            more = line.recv(count - len(got))
            if not more:
                raise Gone
            got += more
        return bytes(got)

    def greet(self, line):
        line.sendall(struct.pack(">QQH", MAGIC, OPTIONS, FIXED | NO_ZEROES))
        flags = struct.unpack(">I", self.take(line, 4))[0]
        about = struct.pack(">QH", len(self.seen), HAS_FLAGS | CAN_FLUSH | CAN_FUA)
        while True:
            _, option, length = struct.unpack(">QII", self.take(line, 16))
            self.take(line, length)
            if option == OPT_EXPORT_NAME:
                line.sendall(about + (b"" if flags & NO_ZEROES else bytes(124)))
                return
            if option == OPT_ABORT:
                raise Gone
            if option in (OPT_INFO, OPT_GO):
                info = struct.pack(">H", 0) + about
                line.sendall(struct.pack(">QIII", ANSWER, option, REP_INFO, len(info)) + info)
                line.sendall(struct.pack(">QIII", ANSWER, option, REP_ACK, 0))
                if option == OPT_GO:
                    return
                continue
            line.sendall(struct.pack(">QIII", ANSWER, option, REP_UNSUPPORTED, 0))

    def answer(self, line):
        magic, flags, kind, handle, offset, length = struct.unpack(">IHHQQI", self.take(line, 28))
        if magic != ASKED or kind == DISCONNECT:
            raise Gone
        data = self.take(line, length) if kind == WRITE else b""
        if self.dark.is_set():
            raise Dark
        with self.lock:
            if kind in (WRITE, FLUSH) and self.goes_dark(offset, data, kind):
                raise Dark
            if kind == WRITE:
                self.write(offset, data, flags & FUA)
            elif kind == FLUSH:
                self.flush()
            reply = struct.pack(">IIQ", REPLIED, 0, handle)
            if kind == READ:
                reply += self.seen[offset : offset + length]
        line.sendall(reply)

    def goes_dark(self, offset, data, kind):
        """The power goes during this one, which may have got to the disk in part."""
        self.calls += 1
        if self.cut_after is None or self.calls <= self.cut_after:
            return False
        if kind == WRITE:
            self.waiting += self.sectors(offset, data)
        self.dark.set()
        return True

    @staticmethod
    def sectors(offset, data):
        return [(offset + at, data[at : at + SECTOR]) for at in range(0, len(data), SECTOR)]

    def write(self, offset, data, is_safe):
        self.written += len(data)
        self.seen[offset : offset + len(data)] = data
        if is_safe:
            # Older ones of the same place must not come over it later.
            self.waiting = [w for w in self.waiting if not offset <= w[0] < offset + len(data)]
            self.safe[offset : offset + len(data)] = data
        else:
            self.waiting += self.sectors(offset, data)

    def flush(self):
        for offset, sector in self.waiting:
            self.safe[offset : offset + SECTOR] = sector
        self.waiting = []
