#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Holds one way of an axis for a time: hold.py SOCKET AXIS WAY SECONDS

A complete client in Python's standard library. It agrees on the version of the protocol, takes its turn where visitors take
turns, renews its hold at a third of the lease, each time with the newest token, and lets go. Whatever happens to it, the
motion ends: by the lease, or because the connection closes.

Keep fingers clear of moving parts. Software is no substitute for a wired emergency stop that cuts motor power.
"""
import json
import socket
import sys
import time

PROTOCOL = 1


class Link:
    """One connection: calls are numbered, notifications are kept for later."""

    def __init__(self, path):
        self.socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.socket.connect(path)
        self.lines = self.socket.makefile("r", encoding="utf-8", newline="\n")
        self.id = 0
        self.notifications = []

    def read(self):
        line = self.lines.readline()
        if not line:
            sys.exit("the daemon closed the connection; whatever moved ends")
        return json.loads(line)

    def call(self, method, **params):
        self.id += 1
        message = {"jsonrpc": "2.0", "id": self.id, "method": method, "params": params}
        self.socket.sendall(json.dumps(message).encode() + b"\n")
        while True:
            answer = self.read()
            if answer.get("id") == self.id:
                break
            self.notifications.append(answer)
        if "error" in answer:
            data = answer["error"]["data"]
            sys.exit(f"{method}: {data['sentence']}; {data['remedy']}")
        return answer["result"]

    def notification(self):
        return self.notifications.pop(0) if self.notifications else self.read()


def wait_for_turn(link):
    turn = link.call("follow")["turn"]
    if not turn["needed"] or turn["yours"]:
        return
    turn = link.call("join")["turn"]
    while not turn["yours"]:
        print(f"{turn['place']} before you", file=sys.stderr)
        message = link.notification()
        while message["method"] != "turn":
            message = link.notification()
        turn = message["params"]


def hold(link, axis, way, seconds):
    lease = link.call("hello", protocol=PROTOCOL)["lease"]["default_ms"] / 1000
    wait_for_turn(link)
    token = link.call("hello", protocol=PROTOCOL)["token"]  # waiting made the first one old
    end = time.monotonic() + seconds
    seq = 0
    while time.monotonic() < end:
        answer = link.call("request", axis=axis, way=way, hold=1, seq=seq, token=token)
        print(answer["result"])
        token = answer["token"]
        seq += 1
        time.sleep(max(0, min(lease / 3, end - time.monotonic())))
    print(link.call("release", axis=axis, hold=1)["result"])


if __name__ == "__main__":
    if len(sys.argv) != 5:
        sys.exit(__doc__)
    hold(Link(sys.argv[1]), sys.argv[2], sys.argv[3], float(sys.argv[4]))
