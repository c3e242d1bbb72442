"""Makes a folder of job files for the benchmarks: 3 to 30 runs, fixed appliances, the same from the same seed."""

import random
import sys
from pathlib import Path

SIZES = ("9.52", "12.70", "15.88", "19.05", "25.40")


def job_text(number: int, more: str = "") -> str:
    """Return the text of one job, with more lines at its end."""
    dice = random.Random(number)
    count = dice.randint(3, 30)
    lines = [
        f"job: Batch job {number}",
        f"ref: B-{number:05d}",
        "gas: propane",
        f"site: {{temperature: {dice.randint(5, 25)} degC, altitude: {dice.randint(0, 900)} m}}",
        "rule: as-nzs-5601.2",
        "regulator: {outlet: 2.75 kPa, capacity: 300 MJ/h}",
        "runs:",
    ]
    feeding = set()
    for run in range(count):
        start = "regulator" if run == 0 else f"run-{dice.randrange(max(0, run - 3), run)}"
        feeding.add(start)
        size = SIZES[max(1, 4 - run // 4 - dice.randint(0, 1))]
        lines.append(
            f"  run-{run}: {{from: {start}, pipe: as1432-b/{size}, length: {dice.uniform(0.4, 2.5):.2f} m, "
            f"rise: {dice.choice(('0 m', '0.2 m', '-0.2 m'))}, "
            f"fittings: {{elbow-90: {dice.randint(1, 3)}, tee-branch: 1}}}}"
        )
    lines.append("appliances:")
    ends = [f"run-{run}" for run in range(count) if f"run-{run}" not in feeding]
    for place, end in enumerate(ends):
        if place % 4 == 0:
            lines.append(f"  heater-{place}: {{at: {end}, input: {{like: urn}}}}")
        else:
            lines.append(f"  hob-{place}: {{at: {end}, input: {dice.uniform(2, 9):.1f} MJ/h}}")
    return "\n".join(lines) + "\n" + more


def make(folder: Path, count: int, more: str = "") -> None:
    """Write so many job files into a folder, each with more lines at its end."""
    folder.mkdir(parents=True, exist_ok=True)
    for number in range(count):
        (folder / f"job-{number:05d}.yaml").write_text(job_text(number, more), encoding="utf-8")


if __name__ == "__main__":
    make(Path(sys.argv[1]), int(sys.argv[2]))
