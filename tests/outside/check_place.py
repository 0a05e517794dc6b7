"""The place of an output under kills, other runs, mounts and a full drive.

    check_place.py PATH/TO/planksheer kill|own|two|mount|full

kill   runs ended by SIGKILL at random moments: the place always holds a whole
       earlier or later output, by its manifest
own    files of a person in an output are refused by name and kept
two    runs at once that cannot see each other's processes
mount  a mount point as the place, kills while it is filled too
full   a drive without room

A line "skipped: why" where the machine gives no right to what a case needs.
"""

import pathlib
import random
import signal
import subprocess
import sys
import tempfile
import time

KILLS = 100
PAIRS = 12
FILLS = 15
HEAD = "# planksheer build, manifest version 1;"


class Shop:
    """Two jobs with different outputs, one of them with more files."""

    def __init__(self, planksheer: str, at: pathlib.Path):
        self.planksheer = planksheer
        self.at = at
        self.jobs = []
        for k in range(2):
            folder = at / f"job{k}"
            subprocess.run([planksheer, "start", folder], check=True, capture_output=True)
            self.jobs.append(folder / "job.toml")
        text = self.jobs[1].read_text()
        start = text.index("[[doubler]]")
        end = text.index("\n[[", start)
        self.jobs[1].write_text(text[:start] + text[end:])
        self.known = {}
        for k, job in enumerate(self.jobs):
            assert self.build(k, at / f"known{k}").returncode == 0
            self.known[(at / f"known{k}" / "manifest.sha256").read_text()] = k
        assert len(self.known) == 2

    def command(self, k, place, *more):
        return [self.planksheer, "build", self.jobs[k], "--out", place, "--quick", *more]

    def build(self, k, place, *more, effort=None):
        command = self.command(k, place, *more)
        if effort:
            command[command.index("--quick") : command.index("--quick") + 1] = ["--effort", effort]
        return subprocess.run(command, capture_output=True, text=True, timeout=120)

    def whole(self, place, skip=()):
        """Which job's output a place holds; nothing else is in it."""
        text = (place / "manifest.sha256").read_text()
        assert text.startswith(HEAD), text[:80]
        assert text in self.known, "neither the earlier nor the later output"
        listed = {line.split("  ", 1)[1] for line in text.splitlines()[1:]}
        found = {
            str(p.relative_to(place))
            for p in place.rglob("*")
            if p.is_file() and p.relative_to(place).parts[0] not in skip
        }
        assert found == listed | {"manifest.sha256"}, found ^ listed
        # The open tool of the format reads it.
        subprocess.run(
            ["sha256sum", "--check", "--strict", "--quiet", "manifest.sha256"], cwd=place, check=True
        )
        return self.known[text]

    def seconds(self, place):
        begun = time.monotonic()
        assert self.build(0, place).returncode == 0
        return time.monotonic() - begun

    def kill(self, k, place, after):
        """A run killed after some seconds; true if it was still running."""
        run = subprocess.Popen(
            self.command(k, place), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        try:
            run.wait(after)
        except subprocess.TimeoutExpired:
            run.send_signal(signal.SIGKILL)
        return run.wait() != 0


    def kill_at(self, k, place, sign, after):
        """A run killed some seconds after a file is there; true if it was still running."""
        run = subprocess.Popen(
            self.command(k, place), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        while run.poll() is None and not any(place.parent.glob(sign)):
            pass
        time.sleep(after)
        run.send_signal(signal.SIGKILL)
        return run.wait() != 0


def beside(place):
    """What lies beside a place."""
    return sorted(p.name for p in place.parent.iterdir() if p != place)


def refused(done, *words):
    assert done.returncode == 1, (done.returncode, done.stderr)
    for word in (*words, "mend:"):
        assert word in done.stderr, f"no {word}: {done.stderr}"
    assert "panicked" not in done.stderr


def moments(count, usual):
    """Moments to kill at, in seconds."""
    rng = random.Random(18)
    return [usual * rng.uniform(0.0, 1.1) for _ in range(count)]


def kill(shop):
    place = shop.at / "yard" / "out"
    usual = shop.seconds(place)
    killed = 0
    held = [0]
    for k, after in enumerate(moments(KILLS, usual)):
        # In two of three tries while files are written and swapped in.
        if k % 3 == 0:
            killed += shop.kill(k % 2, place, after)
        else:
            killed += shop.kill_at(k % 2, place, ".out.staging-*/parts", 0.1 * after)
        held.append(shop.whole(place))
    assert killed > KILLS // 4, f"only {killed} runs were still running when killed"
    assert shop.build(1, place).returncode == 0
    assert shop.whole(place) == 1
    assert beside(place) == [], beside(place)
    swapped = sum(a != b for a, b in zip(held, held[1:]))
    print(f"{killed} of {KILLS} runs killed; the later output stood in the place after {swapped}")


def own(shop):
    place = shop.at / "yard" / "out"
    assert shop.build(0, place).returncode == 0
    mine = {
        "parts/mine.dxf": "precious",
        "lists/my-costs.csv": "precious",
        "sheets/sheet-1-with-leads.dxf": "precious",
        "yield.txt": "edited",
    }
    for name, text in mine.items():
        (place / name).write_text(text)
    refused(shop.build(1, place), *mine, "--replace")
    for name, text in mine.items():
        assert (place / name).read_text() == text
    assert beside(place) == []
    assert shop.build(1, place, "--replace").returncode == 0
    assert shop.whole(place) == 1
    assert beside(place) == ["out-kept-1"]
    for name, text in mine.items():
        assert (shop.at / "yard" / "out-kept-1" / name).read_text() == text


def two(shop):
    apart = ["unshare", "--pid", "--fork", "--mount-proc"]
    allowed([*apart, "true"])
    done = {0: 0, 1: 0}
    for k in range(PAIRS):
        # In half of the tries the place is new.
        place = shop.at / "yard" / (f"new{k}" if k % 2 else "out")
        runs = [
            subprocess.Popen([*apart, *shop.command(j, place)], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
            for j in range(2)
        ]
        for run in runs:
            said = run.communicate()[1]
            assert run.returncode in (0, 1), (run.returncode, said)
            assert run.returncode == 0 or "mend:" in said, said
            done[run.returncode] += 1
        shop.whole(place)
        again = shop.build(0, place)
        assert again.returncode == 0, again.stderr
        assert shop.whole(place) == 0
        assert not [n for n in beside(place) if n.startswith(".")], beside(place)
    print(f"{done[0]} done, {done[1]} refused")


def mount(shop):
    inside()
    yard = shop.at / "yard"
    place = yard / "out"
    (shop.at / "drive").mkdir()
    for kind in (["-t", "tmpfs", "none"], ["--bind", shop.at / "drive"]):
        place.mkdir(parents=True)
        subprocess.run(["mount", *kind, place], check=True)
        for k in (0, 1, 0):
            done = shop.build(k, place)
            assert done.returncode == 0, done.stderr
            assert shop.whole(place) == k
            subprocess.run(["mountpoint", "--quiet", place], check=True)
        # Killed while it is filled: the next run is not refused.
        usual = shop.seconds(place)
        broken = 0
        for k, after in enumerate(moments(FILLS, usual)):
            if k % 3 == 0:
                shop.kill(1 - k % 2, place, after)
            else:
                sign = f"{place.name}/.output.staging-*/manifest.sha256"
                shop.kill_at(1 - k % 2, place, sign, 0.001 * (k % 5))
            try:
                shop.whole(place)
            except (AssertionError, FileNotFoundError, subprocess.CalledProcessError):
                broken += 1
            done = shop.build(k % 2, place)
            assert done.returncode == 0, done.stderr
            assert shop.whole(place) == k % 2
            assert not [p for p in place.iterdir() if p.name.startswith(".")]
        (place / "parts" / "mine.dxf").write_text("precious")
        refused(shop.build(0, place), "parts/mine.dxf")
        assert shop.build(0, place, "--replace").returncode == 0
        assert (place / "kept-1" / "parts" / "mine.dxf").read_text() == "precious"
        assert shop.build(1, place).returncode == 0
        assert shop.whole(place, skip=("kept-1",)) == 1
        subprocess.run(["umount", place], check=True)
        assert beside(place) == [], [(n, list((place.parent / n).rglob("*"))) for n in beside(place)]
        place.rmdir()
        print(f"{kind[-1]}: {broken} of {FILLS} kills left it filled in part")
    # Below what cannot be written: a container with its own files read-only.
    yard.mkdir(exist_ok=True)
    subprocess.run(["mount", "-t", "tmpfs", "none", yard], check=True)
    place.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "none", place], check=True)
    subprocess.run(["mount", "-o", "remount,ro", yard], check=True)
    done = shop.build(1, place)
    assert done.returncode == 0, done.stderr
    assert shop.whole(place) == 1
    begun = time.monotonic()
    for no in (yard / "no", yard / "no" / "such", shop.jobs[0], shop.jobs[0] / "out"):
        refused(shop.build(0, no, effort="long"), "--out")
    assert time.monotonic() - begun < 10, "told after the nest"
    subprocess.run(["umount", place, yard], check=True)


def full(shop):
    inside()
    drive = shop.at / "drive"
    drive.mkdir()
    for place in (drive / "out", drive):
        subprocess.run(["mount", "-t", "tmpfs", "-o", "size=6m", "none", drive], check=True)
        assert shop.build(0, place).returncode == 0
        # Room for the probe, none for an output. What a new file system holds
        # in its lost+found is nobody's.
        fill = drive / ("lost+found" if place == drive else "other")
        fill.mkdir()
        room(fill / "first", 40)
        before = sorted(str(p) for p in drive.rglob("*"))
        done = shop.build(1, place)
        refused(done, "cannot be written", "No space left", "room")
        assert "was left in" not in done.stderr, done.stderr
        skip = () if place != drive else ("lost+found",)
        assert shop.whole(place, skip) == 0
        assert sorted(str(p) for p in drive.rglob("*")) == before
        # No room at all is told before the nest.
        room(fill / "second", 0)
        begun = time.monotonic()
        refused(shop.build(1, place, effort="long"), "cannot be used", "No space left")
        assert time.monotonic() - begun < 5, "told after the nest"
        assert shop.whole(place, skip) == 0
        subprocess.run(["umount", drive], check=True)


def room(filler, pages):
    """Fills a drive but for some pages."""
    block = bytes(4096)
    with open(filler, "wb", buffering=0) as out:
        try:
            while True:
                out.write(block)
        except OSError:
            out.truncate(out.tell() - pages * len(block))


def allowed(command):
    """Ends where the machine does not let a command be run."""
    tried = subprocess.run(command, capture_output=True, text=True)
    if tried.returncode:
        print(f"skipped: {' '.join(command)}: {tried.stderr.strip()}")
        sys.exit(0)


def inside():
    """Starts this program again where its mounts are its own."""
    apart = ["unshare", "--mount", "--propagation", "private"]
    if sys.argv[3:] != ["inside"]:
        allowed([*apart, "mount", "-t", "tmpfs", "none", "/mnt"])
        done = subprocess.run([*apart, sys.executable, *sys.argv, "inside"])
        sys.exit(done.returncode)


def main():
    cases = {"kill": kill, "own": own, "two": two, "mount": mount, "full": full}
    if len(sys.argv) not in (3, 4) or sys.argv[2] not in cases:
        sys.exit(__doc__)
    planksheer = str(pathlib.Path(sys.argv[1]).resolve())
    with tempfile.TemporaryDirectory() as at:
        cases[sys.argv[2]](Shop(planksheer, pathlib.Path(at)))


if __name__ == "__main__":
    main()
