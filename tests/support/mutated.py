"""Inputs of every kind, changed at random: what a slip, a bad disk or somebody with bad intent makes of a good file."""

import random
import shutil
from collections.abc import Callable
from pathlib import Path
from random import Random

from calls import Call
from paths import EXAMPLES

READINGS = """\
noise: 10 Pa
readings:
  - {state: everything, at: fryer, pressure: 2.6 kPa}
  - {state: everything, at: main, pressure: 2.7 kPa}
"""
LIBRARY = """\
pipes:
  shop: {title: Ours, roughness: 0.0015 mm, material: copper, source: common practice, sizes: {"10": {bore: 10 mm}}}
appliances:
  kettle: {title: A kettle, input: 9 MJ/h, source: common practice}
"""
STOCK = "stock: [as1432-b/auto, as1432-b/12.70]\n"
SWAPS = "swaps: {urn: 24 MJ/h, griddle: 30 MJ/h}\n"
# Each file that a call reads, and the calls that read it.
CALLS = {
    "job.yaml": (
        ("check", "job.yaml"),
        ("check", "job.yaml", "--full"),
        ("check", "job.yaml", "--format", "json"),
        ("size", "job.yaml"),
        ("explain", "job.yaml"),
        ("compare", "job.yaml", "other.yaml"),
        ("diff", "job.yaml", "other.yaml"),
        ("recheck", "job.yaml", "--swap", "urn=24 MJ/h"),
        ("takeoff", "job.yaml", "--prices", "prices.yaml"),
        ("supply", "job.yaml"),
        ("hotwater", "job.yaml"),
        ("tightness", "job.yaml", "--hoses"),
        ("commission", "job.yaml"),
        ("sheet", "job.yaml", "-o", "-"),
    ),
    "prices.yaml": (
        ("takeoff", "job.yaml", "--prices", "prices.yaml"),
        ("size", "open.yaml", "--prices", "prices.yaml"),
    ),
    "stock.yaml": (("size", "open.yaml", "--stock", "stock.yaml"),),
    "readings.yaml": (("commission", "job.yaml", "readings.yaml"),),
    "library.yaml": (
        ("check", "job.yaml", "--library", "library.yaml"),
        ("list", "pipes", "--library", "library.yaml"),
    ),
    "swaps.yaml": (("recheck", "job.yaml", "--swaps", "swaps.yaml"),),
    "results.jsonl": (("recheck", "--results", "results.jsonl"),),
    "sheet.html": (("check", "sheet.html"), ("sheet", "--verify", "sheet.html")),
}
_PIECES = (
    *("", "~", "0", "-1", "1e999", "nan", "9**9", "0 m", "1000 m", "5000 MJ/h", "0.1 MJ/h", "100 %", "0 %", "-40 degC"),
    *(
        "any",
        "none",
        "auto",
        "main",
        "regulator",
        "hose/8",
        "as1432-b/50.80",
        "[]",
        "{}",
        "[[]]",
        "{a: b}",
        "- a",
        "*a",
    ),
    *(
        "&a b",
        "!!str a",
        "'",
        '"',
        "{",
        "}",
        "[",
        "]",
        ":",
        ": ",
        "#",
        "|",
        "%",
        "\t",
        "\\",
        "\x1b[2J",
        "\u202e",
        "\x00",
    ),
    *("\u0663 m", "x" * 70, "[" * 60, "yes", "null", "\n", "  ", "{drop: 1 kPa}", "12:30", "\ufeff", "\r\n", "\u2028"),
)


def make_inputs(folder: Path, drawbar: Callable[..., Call]) -> dict[str, bytes]:
    """Write a good file of every kind into the current folder; return them by name."""
    shutil.copy(EXAMPLES / "harvest-fair-trailer.yaml", folder / "job.yaml")
    shutil.copy(EXAMPLES / "riverboat-two-stage.yaml", folder / "other.yaml")
    shutil.copy(EXAMPLES / "market-kitchen-open.yaml", folder / "open.yaml")
    shutil.copy(EXAMPLES / "prices.yaml", folder / "prices.yaml")
    texts = {"stock.yaml": STOCK, "readings.yaml": READINGS, "library.yaml": LIBRARY, "swaps.yaml": SWAPS}
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    drawbar("recheck", "job.yaml", "--swap", "urn=24 MJ/h", "--format", "jsonl", "--out", "results.jsonl")
    drawbar("sheet", "job.yaml", "-o", "sheet.html", "--date", "2026-01-31")
    return {name: (folder / name).read_bytes() for name in CALLS}


def mutated(data: bytes, chance: Random) -> bytes:
    """Return a file changed in one to three places: a piece put in, taken out, doubled or exchanged, or bytes."""
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        kind = chance.randrange(7)
        at = chance.randrange(len(data) + 1)
        if kind == 0:  # bytes of noise
            data = data[:at] + chance.randbytes(chance.randint(1, 4)) + data[at + chance.randint(0, 4) :]
        elif kind == 1:  # cut off
            data = data[:at]
        elif kind == 2:  # a line twice, taken out or put elsewhere
            lines = data.splitlines(keepends=True) or [b""]
            line = chance.choice(lines)
            if chance.random() < 0.5:
                lines.remove(line)
            lines.insert(chance.randrange(len(lines) + 1), line)
            data = b"".join(lines)
        else:  # a word or a number becomes another
            start = max(data.rfind(b" ", 0, at), data.rfind(b"\n", 0, at)) + 1
            ends = [end for end in (data.find(mark, at) for mark in (b" ", b",", b"}", b"\n")) if end >= 0]
            piece = chance.choice(_PIECES)
            if chance.random() < 0.4:
                piece = chance.choice(data.decode("utf-8", "replace").split() or [""])
            data = data[:start] + piece.encode() + data[min(ends, default=len(data)) :]
    return data


def try_mutated(folder: Path, drawbar: Callable[..., Call], seeds: range) -> dict[str, int]:
    """Call the program with an input changed by each seed; return how many calls came to which exit code.

    Raises
    ------
    AssertionError
        Where a call ended otherwise than with a verdict or with problems told, or changed an input.
    """
    good = make_inputs(folder, drawbar)
    names, counts = list(CALLS), dict.fromkeys(("0", "1", "2", "3"), 0)
    there = sorted(path.name for path in folder.iterdir())
    for seed in seeds:
        chance = random.Random(seed)
        name = chance.choices(names, weights=[len(CALLS[each]) + 1 for each in names])[0]
        words = chance.choice(CALLS[name])
        data = mutated(good[name], chance)
        (folder / name).write_bytes(data)
        call = drawbar(*words)
        said = f"seed {seed}: {' '.join(words)}: {call.code}\n{call.err[:2000]}"
        assert call.code in (0, 1, 2, 3), said
        assert "Traceback" not in call.err, said
        assert call.code != 2 or call.err or call.out, said  # what is wrong is told
        assert "\x1b" not in call.out + call.err, said
        assert (folder / name).read_bytes() == data, said
        (folder / name).write_bytes(good[name])
        counts[str(call.code)] += 1
    assert sorted(path.name for path in folder.iterdir()) == there
    return counts
