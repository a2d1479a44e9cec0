# SPDX-License-Identifier: MIT
"""Builds the core with a fault in it, and the test programs that need nothing but the core."""

import os
import pathlib
import re
import shutil
import subprocess
import sys

BUILD = pathlib.Path("build/mutation")
FLAGS = ["-std=c11", "-w", "-fPIC", "-Ilib", "-I."]
# Undefined behaviour in the core ends a test: an index past an array is noticed even where nothing else happens.
CHECKED = ["-O1", "-fsanitize=undefined", "-fsanitize=bounds-strict", "-fsanitize-undefined-trap-on-error"]
INCLUDE = re.compile(r'^#include "([^"]+)"', re.M)

CORE = sorted(str(path) for path in pathlib.Path("lib/core").glob("*.c"))
HEADERS = sorted(str(path) for path in pathlib.Path("lib/core").glob("*.h"))


def run(command, **options):
    return subprocess.run(list(map(str, command)), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
                          errors="replace", check=False, **options)


def must(command, **options):
    done = run(command, **options)
    if done.returncode != 0:
        sys.exit(f"{' '.join(map(str, command))}\n{done.stderr}")


# --- the tests of the core: those that need nothing else -------------------------------------------------


def sources_of(header):
    stem = header[:-2]
    return [str(path) for path in sorted(pathlib.Path(os.path.dirname(stem)).glob(os.path.basename(stem) + "*.c"))]


def support_of(path, seen):
    """Adds the support sources `path` needs; False where it needs more than the core."""
    if path in seen:
        return True
    seen.add(path)
    for name in INCLUDE.findall(pathlib.Path(path).read_text(encoding="utf-8")):
        if name.startswith("core/"):
            continue
        if not name.startswith("tests/"):
            return False
        if not all(support_of(part, seen) for part in [name, *sources_of(name)]):
            return False
    return True


def test_parts():
    """Test source -> the sources it is linked from."""
    table = {}
    for path in sorted(pathlib.Path("tests/unit").glob("test_*.c")):
        seen = set()
        if support_of(str(path), seen):
            table[str(path)] = sorted(part for part in seen if part.endswith(".c"))
    return table


# --- compiling and linking -------------------------------------------------------------------------------


def object_in(folder, source):
    return folder / (source.replace("/", "_")[:-2] + ".o")


def object_of(source):
    return object_in(BUILD / "obj", source)


def compiles(target, source, *first):
    """`first`: flags that go before ours, so that their include folder is looked into first."""
    return run(["gcc", *first, *FLAGS, "-c", "-o", target, source]).returncode == 0


def flags_of(source):
    return CHECKED if "lib/core/" in str(source) else ["-O1", "-D_GNU_SOURCE"]


def link_core(folder, objects, *flags):
    """The core as a library of its own: the test programs need no new link for another one."""
    return run(["gcc", "-shared", *flags, "-o", folder / "libmutant.so", *objects]).returncode == 0


def link_program(target, objects, core):
    must(["gcc", "-o", target, *objects, "-L" + str(core), "-lmutant", "-lcmocka", "-lm"])


def compile_all(pool, sources):
    good = list(pool.map(lambda source: compiles(object_of(source), source, *flags_of(source)), sources))
    if not all(good):
        sys.exit(f"{sources[good.index(False)]} does not compile")


def build_sound(pool):
    """The core as it is and its tests. Returns program -> the sources it is linked from."""
    parts = test_parts()
    shutil.rmtree(BUILD, ignore_errors=True)
    (BUILD / "obj").mkdir(parents=True)
    compile_all(pool, CORE + sorted({part for every in parts.values() for part in every}))
    sound = BUILD / "sound"
    sound.mkdir()
    if not link_core(sound, map(object_of, CORE)):
        sys.exit("the core does not link")
    programs = {BUILD / pathlib.Path(test).stem: every for test, every in parts.items()}
    list(pool.map(lambda row: link_program(row[0], map(object_of, row[1]), sound), programs.items()))
    return programs


# --- a fault ---------------------------------------------------------------------------------------------


class Faulty:
    """A folder with one fault in a copy of its source, and the core built from it."""

    def __init__(self, mutant):
        self.mutant = mutant
        self.folder = BUILD / f"mutant-{id(mutant)}"
        self.changed = self.folder / "lib" / "core" / os.path.basename(mutant.path)

    def __enter__(self):
        self.changed.parent.mkdir(parents=True)
        lines = pathlib.Path(self.mutant.path).read_text(encoding="utf-8").splitlines(keepends=True)
        self.changed.write_text(self.mutant.text(lines), encoding="utf-8")
        return self

    def __exit__(self, *_):
        shutil.rmtree(self.folder)

    def users(self):
        """The sources of the core the fault gets into."""
        return [self.mutant.path] if self.mutant.path.endswith(".c") else CORE

    def source(self, user):
        return self.changed if user == self.mutant.path else user

    def include(self):
        return ["-I" + str(self.folder / "lib")]

    def builds(self):
        """False where it does not compile."""
        objects = {source: object_of(source) for source in CORE}
        for user in self.users():
            objects[user] = object_in(self.folder, user)
            if not compiles(objects[user], self.source(user), *CHECKED, *self.include()):
                return False
        return link_core(self.folder, objects.values())

    def program(self, program, parts):
        """The test program; where the fault is in a header, with the fault in it, too."""
        if self.mutant.path.endswith(".c"):
            return program
        objects = [object_in(self.folder, part) for part in parts]
        for part, target in zip(parts, objects):
            if not target.exists() and not compiles(target, part, *flags_of(part), *self.include()):
                sys.exit(f"{part} does not compile with {self.mutant}")
        path = self.folder / program.name
        link_program(path, objects, self.folder)
        return path

    def same_code(self):
        """True where an optimizing compiler makes of it, byte for byte, what it makes of the sound source."""
        with_fault, without = self.folder / "with.o", self.folder / "without.o"
        for user in self.users():
            if not compiles(with_fault, self.source(user), "-O2", *self.include()) or not compiles(without, user, "-O2"):
                return False
            for path in (with_fault, without):
                must(["strip", "--strip-all", path])
            if with_fault.read_bytes() != without.read_bytes():
                return False
        return True
