#!/usr/bin/env python3
"""Inputs without bound are refused at once, in bounded memory; twice as much of
what is taken takes about twice the time.

    python too_much.py PATH/TO/planksheer

Every input may take 10 s of processor time and 400 MB; on an idle machine
each takes under 1 s and 200 MB. A refusal says what is wrong, how to mend it,
and no more than a hundred messages.

Of what is taken, the most of each kind and half as much are run in turn: the
processor's time may grow by no more than GROWTH. On an idle machine it grows
by 1.7 to 2.3.
"""

import os
import pathlib
import resource
import subprocess
import sys
import tempfile

SECONDS = 10
KILOBYTES = 400 * 1024

JOB = """name = "{name}"
[survey]
unit = "mm"
accuracy = "1 mm"
stern = "open"
slope = 0.02
[[survey.file]]
path = "edge"
form = "{form}"
{layer}
[bulwark]
height = "400 mm"
[[sheet]]
length = "6 m"
width = "2 m"
"""
EDGE = "x,y,z,side\n" + "".join(
    f"{4000 - 200 * i},{900 + 40 * i - i * i},1400,port\n" for i in range(20)
)


def job(form="points", name="too much", layer="", more=""):
    return JOB.format(form=form, name=name, layer=layer) + more


def doublers(count):
    one = '[[doubler]]\nname="{}"\nat={{side="port",station="1 m"}}\nlength="9 in"\nwidth="2 in"\n'
    return "".join(one.format(i) for i in range(count))


def sheets(count):
    return "".join(f'[[sheet]]\nname="{i}"\nlength="6 m"\nwidth="{200 + i} mm"\n' for i in range(count))


def drawing(entities):
    return "0\nSECTION\n2\nENTITIES\n" + entities + "0\nENDSEC\n0\nEOF\n"


DXF = {"form": "dxf", "layer": 'layer = "E"'}

# Name: the job, the survey (a number of bytes: a hole of that size), a word of
# the refusal.
CASES = {
    "a name of 65,536 letters": (job(name="n" * 65536), EDGE, "letters"),
    "a cell of 65,536 letters": (job(), EDGE.replace("1400", "1" * 65536, 1), "letters"),
    "30 MB in a line": (job(), "x" * 30_000_000, "bytes"),
    "a file of 3 GB": (job(), 3 << 30, "larger than"),
    "a million columns": (job(), ",".join(["x"] * 1_000_000), ""),
    "130,000 columns": (job(), ",".join(["x"] * 130_000), "cells"),
    "100,000 bad rows": (job(), "x,y,z,side\n" + "a,b,c,d\n" * 100_000, "more"),
    "100,000 codes that nobody knows": (
        job("list"), "x,y,z,code\n" + "1,2,3,zz\n" * 100_000, "more"),
    "100,000 rows at one place": (job(), "x,y,z,side\n" + "1,2,3,port\n" * 100_000, "more"),
    "3 million rows": (job(), "x,y,z\n" + "1,2,3\n" * 3_000_000, "rows"),
    "100,000 doublers": (job(more=doublers(100_000)), EDGE, "larger than"),
    "8,000 doublers": (job(more=doublers(8_000)), EDGE, "lists 8000"),
    "500 kinds of sheet": (job(more=sheets(500)), EDGE, "lists 501"),
    "80,000 unknown keys": (job(more="[top]\n" + "".join(f"k{i}=1\n" for i in range(80_000))), EDGE, "more"),
    "lists in lists": (job(more="a=" + "[" * 200_000), EDGE, ""),
    "a drawing of 200,000 points": (
        job(**DXF), drawing("0\nPOINT\n8\nE\n10\n1\n20\n2\n" * 200_000), ""),
    "a drawing of 400,000 layers": (
        job(**DXF), drawing("".join(f"0\nTEXT\n8\nL{i}\n" for i in range(400_000))), "layer"),
}


def limit(seconds):
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))


def long_boat(points):
    """Both sides of a boat 20 m long, faired already."""
    rows = ["x,y,z,side"]
    for side, sign in (("port", 1), ("starboard", -1)):
        for i in range(points):
            at = 40 * i / (points - 1)
            rows.append(f"{20000 - 500 * at:.3f},{sign * (900 + 60 * at - at * at):.3f},1400,{side}")
    return "\n".join(rows) + "\n"


def spread_doublers(count):
    """Small doublers along both sides."""
    one = ('[[doubler]]\nname="{}"\nat={{side="{}",station="{:.1f} mm"}}\n'
           'length="150 mm"\nwidth="50 mm"\n')
    return "".join(
        one.format(i, ("port", "starboard")[i % 2], 500 + (i // 2) * 38_000 / count)
        for i in range(count))


# Name: the most of it, the job, the survey and, for a check, the tacked line of
# so many.
GROWTH = 3.0
TAKEN = {
    "doublers": (50, lambda n: (job(more=spread_doublers(n)), long_boat(41), None)),
    "points of a survey": (10_000, lambda n: (job(), long_boat(n // 2), None)),
    "bad rows of a tacked line": (
        100_000,
        lambda n: (job(), long_boat(41), "stanchion,out,up\n" + f"{'z' * 70},1,1\n" * n)),
}


def run(program, at, text, edge, tacked=None, seconds=None):
    """Exit status, processor time in seconds, most memory in KB, and what is said."""
    (at / "job.toml").write_text(text)
    if isinstance(edge, int):
        with open(at / "edge", "wb") as f:
            f.truncate(edge)
    else:
        (at / "edge").write_text(edge)
    how = ["build", str(at / "job.toml"), "--out", str(at / "out"), "--quick"]
    if tacked is not None:
        (at / "tacked.csv").write_text(tacked)
        how = ["check", str(at / "job.toml"), "--tacked", str(at / "tacked.csv")]
    # The child's own figures are told as it ends.
    with open(at / "said", "wb") as said:
        done = subprocess.Popen(
            [program, *how], stdout=subprocess.DEVNULL, stderr=said,
            preexec_fn=seconds and (lambda: limit(seconds)))
        _, status, used = os.wait4(done.pid, 0)
    done.returncode = os.waitstatus_to_exitcode(status)
    said = (at / "said").read_text()
    return done.returncode, used.ru_utime + used.ru_stime, used.ru_maxrss, said


def refused(program):
    wrong = []
    for name, (text, edge, word) in CASES.items():
        with tempfile.TemporaryDirectory() as at:
            code, seconds, most, said = run(program, pathlib.Path(at), text, edge, seconds=SECONDS)
        told = said.count("mend:")
        print(f"{name}: {seconds:.2f} s, {most / 1024:.0f} MB, {told} messages")
        for ok, why in (
            (code == 1, f"exit status {code}"),
            (most <= KILOBYTES, f"{most} KB"),
            (1 <= told <= 100, f"{told} messages"),
            (word in said, f"does not say `{word}`"),
            (len(said) < 100_000, f"{len(said)} letters of message"),
            ("panicked" not in said, "panicked"),
        ):
            if not ok:
                wrong.append(f"{name}: {why}: {said[:400]}")
    return wrong


def taken(program):
    wrong = []
    for name, (most, make) in TAKEN.items():
        seconds = []
        for count in (most // 2, most):
            with tempfile.TemporaryDirectory() as at:
                text, edge, tacked = make(count)
                code, spent, _, said = run(program, pathlib.Path(at), text, edge, tacked)
            if code != (0 if tacked is None else 1) or "panicked" in said:
                wrong.append(f"{count} {name}: exit status {code}: {said[:400]}")
            seconds.append(spent)
        half, whole = seconds
        print(f"{most} {name}: {whole:.2f} s, {whole / half:.2f} times those of half as many")
        if whole > GROWTH * half:
            wrong.append(f"{most} {name} take {whole:.2f} s, half as many {half:.2f} s")
    return wrong


def main():
    program = str(pathlib.Path(sys.argv[1]).resolve())
    wrong = refused(program) + taken(program)
    print("\n".join(wrong))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
