# SPDX-License-Identifier: MIT
"""The test machine with a disk: what it boots from, and one boot of it.

Time in there is counted in instructions and idle time is passed over, as in tests/kernel/run. The kernel is started
without its compression, without the tests of its ciphers and without what it never uses here: a third of the time.
"""

import lzma
import os
import pathlib
import shutil
import subprocess
import threading
import time

CACHE = pathlib.Path("build/kernel")
HERE = pathlib.Path(__file__).parent
NOT_NEEDED = "load_system_certificate_list,init_blk_tracer,init_kprobe_trace,cubictcp_register"
KERNEL_LINE = (
    "console=ttyS0 loglevel=5 panic=-1 random.trust_cpu=on preempt=full nokaslr cryptomgr.notests "
    f"initcall_blacklist={NOT_NEEDED}"
)
APPLETS = ("sh", "mount", "umount", "insmod", "poweroff", "sed", "ip")
DISK_MIB = 16
XZ = b"\xfd7zXZ\x00"


def unpack_kernel(work):
    """The kernel proper out of its self-extracting file, which takes an emulator long; that file where it is another kind."""
    packed = (CACHE / "vmlinuz").read_bytes()
    at = packed.find(XZ)
    if at < 0:
        return CACHE / "vmlinuz"
    kernel = work / "vmlinux"
    kernel.write_bytes(lzma.LZMADecompressor(format=lzma.FORMAT_XZ).decompress(packed[at:]))
    return kernel


def add_program(tree, program, target):
    """With the libraries it is linked to, at the same paths as here."""
    (tree / target).parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(program, tree / target)
    for word in subprocess.run(["ldd", program], capture_output=True, text=True, check=True).stdout.split():
        if word.startswith("/") and not (tree / word[1:]).exists():
            (tree / word[1:]).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(word, tree / word[1:])


def pack_tree(work, build):
    tree = work / "tree"
    for folder in ("bin", "dev", "proc", "sys", "tmp", "run", "disk"):
        (tree / folder).mkdir(parents=True)
    shutil.copy(CACHE / "busybox", tree / "bin/busybox")
    for applet in APPLETS:
        (tree / "bin" / applet).symlink_to("busybox")
    for file in (CACHE / "configfs.ko", CACHE / "gpio-sim.ko", HERE / "init", "docs/examples/glasshouse.conf"):
        shutil.copy(file, tree)
    shutil.copytree(CACHE / "disk", tree / "disk.ko")
    add_program(tree, f"{build}/tripdogd", "bin/tripdogd")
    add_program(tree, f"{build}/tests/power/guest", "guest")
    packed = work / "initrd"
    with packed.open("wb") as out:
        subprocess.run("find . | cpio --quiet -o -H newc | gzip -1", shell=True, cwd=tree, stdout=out, check=True)
    return packed


def empty_disk(work):
    """With barriers and ordered data, as ext4 is by default; the checks at the mount are the kernel's."""
    image = work / "image"
    image.write_bytes(bytes(DISK_MIB << 20))
    # This disk keeps part of a block (512 bytes of it): a journal with checksums is then refused at the next mount where the
    # cut came within its last block; one without them is whole by its order of flushes.
    subprocess.run(["/sbin/mke2fs", "-q", "-t", "ext4", "-O", "^metadata_csum", "-F", image], check=True)
    return image.read_bytes()


class Boot:
    """One time from power on to power off. `heard` is called with each whole line that the guest says."""

    def __init__(self, kit, name, socket_path, disk, words, heard):
        self.disk, self.heard = disk, heard
        self.folder = kit.work / name
        shutil.rmtree(self.folder, ignore_errors=True)
        self.folder.mkdir()
        self.console = self.folder / "console"
        os.mkfifo(self.folder / "said")
        self.thread = threading.Thread(target=self.listen, daemon=True)
        self.thread.start()
        self.emulator = subprocess.Popen(
            ["nice", "-n", "10", "qemu-system-x86_64", "-M", "microvm,x-option-roms=off,isa-serial=on,rtc=on",
             "-m", "256", "-icount", "shift=3,sleep=off", "-display", "none", "-no-reboot", "-nodefaults",
             "-serial", f"file:{self.console}", "-chardev", f"file,id=said,path={self.folder}/said",
             "-device", "isa-serial,chardev=said", "-global", "virtio-mmio.force-legacy=false",
             "-drive", "if=none,id=d,format=raw,cache=writeback,file.driver=nbd,file.server.type=unix,"
             f"file.server.path={socket_path}", "-device", "virtio-blk-device,drive=d",
             "-kernel", str(kit.kernel), "-initrd", str(kit.initrd), "-append", f"{KERNEL_LINE} {words}"],
            stdout=subprocess.DEVNULL, stderr=(self.folder / "emulator").open("w"))  # fmt: skip

    def listen(self):
        with (self.folder / "said").open("rb") as said:
            for line in said:
                if line.endswith(b"\n"):
                    self.heard(line.decode(errors="replace").strip())

    def wait(self, limit_s):
        """Until the power goes or the machine ends by itself; False if neither was within the limit."""
        until = time.monotonic() + limit_s
        while time.monotonic() < until:
            if self.disk.dark.wait(0.02) or self.emulator.poll() is not None:
                return True
        return False

    def cut(self):
        """At once and without a word to the guest. The disk goes with it."""
        self.disk.dark.set()
        self.emulator.kill()
        self.emulator.wait()
        self.thread.join(5)

    def emulator_said(self):
        return (self.folder / "emulator").read_text(errors="replace").strip()

    def complaints(self):
        text = self.console.read_text(errors="replace") if self.console.exists() else ""
        bad = [l for l in text.splitlines() if any(w in l for w in ("EXT4-fs error", "BUG:", "Oops", "Kernel panic"))]
        return bad, text.splitlines()[-30:]


class Kit:
    def __init__(self, work, build):
        self.work = work
        self.kernel = unpack_kernel(work)
        self.initrd = pack_tree(work, build)
        self.image = empty_disk(work)
