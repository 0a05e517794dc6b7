#!/usr/bin/env python3
"""Inputs without bound: each is refused at once, in bounded memory.

    python too_much.py PATH/TO/planksheer

Every input may take 10 s of processor time and 400 MB; on an idle machine
each takes under 1 s and 200 MB. A refusal says what is wrong, how to mend it,
and no more than a hundred messages.
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


def limit():
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))


def main():
    program = str(pathlib.Path(sys.argv[1]).resolve())
    wrong = []
    for name, (text, edge, word) in CASES.items():
        with tempfile.TemporaryDirectory() as at:
            at = pathlib.Path(at)
            (at / "job.toml").write_text(text)
            if isinstance(edge, int):
                with open(at / "edge", "wb") as f:
                    f.truncate(edge)
            else:
                (at / "edge").write_text(edge)
            # The child's own figures are told as it ends.
            with open(at / "said", "wb") as said:
                done = subprocess.Popen(
                    [program, "build", str(at / "job.toml"), "--out", str(at / "out"), "--quick"],
                    stdout=subprocess.DEVNULL, stderr=said, preexec_fn=limit)
                _, status, used = os.wait4(done.pid, 0)
            done.returncode = os.waitstatus_to_exitcode(status)
            seconds, most = used.ru_utime + used.ru_stime, used.ru_maxrss
            said = (at / "said").read_text()
        told = said.count("mend:")
        print(f"{name}: {seconds:.2f} s, {most / 1024:.0f} MB, {told} messages")
        for ok, why in (
            (done.returncode == 1, f"exit status {done.returncode}"),
            (most <= KILOBYTES, f"{most} KB"),
            (1 <= told <= 100, f"{told} messages"),
            (word in said, f"does not say `{word}`"),
            (len(said) < 100_000, f"{len(said)} letters of message"),
            ("panicked" not in said, "panicked"),
        ):
            if not ok:
                wrong.append(f"{name}: {why}: {said[:400]}")
    print("\n".join(wrong))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
