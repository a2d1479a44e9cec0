# SPDX-License-Identifier: MIT
"""Which lines and functions of the core each test program executes, counted once with gcov.

A program that never enters the function a fault is in cannot notice the fault, so it is not run for it; one that
executes the very line is run first.
"""

import json
import os
import shutil
import subprocess
import sys

import building


def build_counted(pool):
    """The core with counters, unoptimized: nothing is inlined away."""
    folder = building.BUILD / "counted"
    (folder / "obj").mkdir(parents=True)
    objects = [building.object_in(folder / "obj", source) for source in building.CORE]
    rows = list(zip(objects, building.CORE))
    good = list(pool.map(lambda row: building.compiles(*row, "-O0", "--coverage"), rows))
    if not all(good) or not building.link_core(folder, objects, "--coverage"):
        sys.exit("the core does not build with counters")
    return folder


def processor_seconds(program, environment):
    """What one run of a program takes."""
    child = subprocess.Popen([str(program)], env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, child.returncode, usage = os.wait4(child.pid, 0)
    if child.returncode != 0:
        sys.exit(f"{program} fails without any fault in the core; see to that first")
    return usage.ru_utime + usage.ru_stime


def executed(mine):
    """(file, line) and (file, function) pairs."""
    files = [path.name for path in mine.glob("*.gcda")]
    if not files:
        return set()  # it uses inline functions only
    out = subprocess.run(["gcov", "--json-format", "--stdout", *files], cwd=mine, check=True, capture_output=True,
                         text=True).stdout
    pairs = set()
    for text in out.splitlines():
        for source in json.loads(text)["files"]:
            name = source["file"]
            pairs |= {(name, line["line_number"]) for line in source["lines"] if line["count"] > 0}
            pairs |= {(name, one["name"]) for one in source["functions"] if one["execution_count"] > 0}
            if source["lines"]:
                pairs.add((name, "any"))
    return pairs


class Reach:
    """`seconds`: program -> processor time of one run on the core with counters, longer than on the sound one."""

    def __init__(self, pool, programs, environment):
        self.folder = build_counted(pool)
        self.environment = environment
        self.pairs, self.seconds = {}, {}
        for program, seconds, pairs in pool.map(self.counted, programs):
            self.pairs[program], self.seconds[program] = pairs, seconds

    def counted(self, program):
        mine = self.folder / program.name
        shutil.copytree(self.folder / "obj", mine, ignore=shutil.ignore_patterns("*.o"))
        # Counters go to GCOV_PREFIX, less so many folders of the path where the object was built.
        above = str(len((self.folder / "obj").resolve().parts) - 1)
        seconds = processor_seconds(program, dict(self.environment, LD_LIBRARY_PATH=str(self.folder),
                                                  GCOV_PREFIX=str(mine.resolve()), GCOV_PREFIX_STRIP=above))
        return program, seconds, executed(mine)

    def rank(self, program, mutant):
        """0: executes the line; 1: the function; None: not the function, so it cannot notice."""
        pairs = self.pairs[program]
        if (mutant.path, mutant.number + 1) in pairs:
            return 0
        if mutant.path.endswith(".h"):
            return 1  # the programs may have it inlined into themselves
        # What stands in a table belongs to no function: whoever comes to the file at all may use it.
        place = "any" if mutant.function == "table" else mutant.function
        return 1 if (mutant.path, place) in pairs else None
