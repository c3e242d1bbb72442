"""`drawbar recheck`: files, folders and lists of jobs, bad files among good ones, workers, and Ctrl-C half-way."""

import json
import os
import signal
import subprocess
import sys
import threading
import time

import pytest

import make_jobs
from calls import unmeasured
from drawbar.rechecking.recheck import UNREAD
from drawbar.yamlfile import nodes
from two_ends import TWO_ENDS


@pytest.fixture
def run(drawbar):
    return lambda *words, stdin="": drawbar("recheck", *map(str, words), stdin=stdin)


@pytest.fixture
def folder(tmp_path):
    """Make a folder with a job that passes, one that fails, and four files that can't be read as jobs."""
    (tmp_path / "a-good.yaml").write_text(TWO_ENDS)
    (tmp_path / "b-failing.yaml").write_text(TWO_ENDS.replace("20 MJ/h", "150 MJ/h"))
    (tmp_path / "c-problems.yaml").write_text(TWO_ENDS.replace("3 m", "3").replace("propane", "protane"))
    (tmp_path / "d-binary.yaml").write_bytes(bytes(range(256)))
    (tmp_path / "e-unreadable.yaml").symlink_to(tmp_path / "nowhere.yaml")
    (tmp_path / "f-folder.yaml").mkdir()
    return tmp_path


def test_one_bad_job_does_not_stop_the_rest(run, folder):
    """All are told, the exit code is the highest, and the good ones are done."""
    names = ["a-good", "b-failing", "c-problems", "d-binary", "e-unreadable", "missing"]
    files = [folder / f"{name}.yaml" for name in names]
    done = run(*files, "--swap", "urn=24 MJ/h", "--format", "jsonl")
    assert done.code == 2
    outcomes = [json.loads(text) for text in done.out.splitlines()]
    assert [outcome["change"] for outcome in outcomes] == [
        "still passes",
        "still fails",
        UNREAD,
        UNREAD,
        UNREAD,
        UNREAD,
    ]
    assert done.err.splitlines() == [
        f"{files[2]}:3:6: gas: `protane` is not a gas of the catalogue; did you mean `propane`?",
        f"{files[2]}:7:58: runs.main.length: `3` has no unit; write one of mm, cm, m, in, ft after it",
        f"{files[3]}:2:118: byte 0x80 is not UTF-8 text; save the file as UTF-8",
        f"{files[4]}: there is no such file",
        f"{files[5]}: there is no such file",
    ]
    good = run(files[0], "--swap", "urn=24 MJ/h")
    assert good.code == 0
    failing = run(files[0], files[1])
    assert failing.code == 1


def test_folders_patterns_and_lists_name_the_jobs(run, folder):
    """A folder stands for its job files in order, a pattern for what it matches, a list for its lines."""
    (folder / "f-folder.yaml" / "deep.yml").write_text(TWO_ENDS)
    whole = [json.loads(text)["file"] for text in run(folder, "--format", "jsonl").out.splitlines()]
    assert whole[:2] == [str(folder / "a-good.yaml"), str(folder / "b-failing.yaml")]
    assert whole[-1] == str(folder / "f-folder.yaml" / "deep.yml")
    pattern = run(folder / "[ab]*.yaml", "--format", "csv")
    assert [text.split(",")[0] for text in pattern.out.splitlines()[1:]] == whole[:2]
    listed = run("--jobs-from", "-", "--format", "csv", stdin=f"{whole[0]}\n\n{whole[1]}\n")
    assert listed.out == pattern.out


def test_the_table_puts_what_changed_first(run, folder):
    """The jobs that now fail come first with what would put them right, then the worst margins, then the totals."""
    done = run(folder / "a-good.yaml", folder / "b-failing.yaml", "--swap", "urn=110 MJ/h")
    assert done.code == 1
    words = done.out
    assert words.startswith("2 jobs checked again: 1 changes verdict\n")
    assert "In all: 1 pass to fail, 1 still fails." in " ".join(words.split())
    assert words.index("PASS to FAIL") < words.index("To put it right:") < words.index(" keep")
    assert "b-failing" not in words
    assert len(words.splitlines()) <= 24
    whole = run(folder / "a-good.yaml", folder / "b-failing.yaml", "--swap", "urn=110 MJ/h", "--all").out
    assert whole.index("a-good.yaml") < whole.index("b-failing.yaml")
    assert max(map(len, words.splitlines())) <= 80


def test_the_table_says_why_and_what_to_do(run, tmp_path):
    """Jobs that fail, that hold as drawn alone, that leave something out: the reason of check, and a remedy.

    The figures are those of check of the job with the other appliance in it.
    """
    unrated = TWO_ENDS.replace(", capacity: 400 MJ/h", "")
    crowded = unrated.replace("{at: right, input: 20 MJ/h}", "{at: right, input: 300 MJ/h}")
    for name, text in (("fails", TWO_ENDS), ("open", unrated), ("both", crowded)):
        (tmp_path / f"{name}.yaml").write_text(text)
    margins = {}
    for load in range(30, 110):
        checked = json.loads(run(tmp_path / "fails.yaml", "--swap", f"urn={load} MJ/h", "--format", "jsonl").out)
        margins[load] = checked["after"]["margin_Pa"], checked["after"]["worst_margin_Pa"]
        if margins[load][1] < 0.0 <= margins[load][0]:
            break
    assert margins[load][1] < 0.0 <= margins[load][0]  # a load with which the line holds as drawn alone
    for name, swap, words, helps in (
        ("fails", "110 MJ/h", "short (drop", True),
        ("fails", f"{load} MJ/h", "short with every tolerance at its worst", True),
        ("open", "20 MJ/h", "The rating of the regulator is not given; it must pass 42 MJ/h", False),
        ("both", "20 MJ/h", "And 1 more: see drawbar check.", True),  # it failed before the swap as well
    ):
        out = run(tmp_path / f"{name}.yaml", "--swap", f"urn={swap}", "--all", "--full").out
        page = " ".join(out.split())
        assert f"To put it right: - {name}.yaml: " in page
        assert words in page
        assert ("passes with" in page) == helps
        (tmp_path / "swapped.yaml").write_text(
            (tmp_path / f"{name}.yaml").read_text().replace("{like: urn}", swap), encoding="utf-8"
        )
        line = json.loads(run(tmp_path / f"{name}.yaml", "--swap", f"urn={swap}", "--format", "jsonl").out)
        bare = json.loads(run(tmp_path / "swapped.yaml", "--format", "jsonl").out)
        assert line["after"]["because"] == bare["after"]["because"]
        assert line["after"]["because"][0]["text"][1:] in page


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--swap", "urn"], "`urn` is not OLD=NEW; write for example `urn=24 MJ/h`"),
        (
            ["--swap", "urn=wok-burnr"],
            "`wok-burnr` is no appliance of the catalogue and no rate; did you mean `wok-burner`?",
        ),
        (["--swap", "urn=30000 MJ/h"], "`30000 MJ/h` can't be right; write from 0.1 MJ/h to 5000 MJ/h"),
        (["--swap", "=3 kW"], "a swap has no old appliance; write OLD=NEW, as `urn=24 MJ/h`"),
        (["--results", "x.jsonl"], "--results takes the place of jobs, swaps, --set and --units."),
        (["--workers", "0"], "0 is not in the range 1<=x<=64."),
    ],
)
def test_a_wrong_call_is_told(run, words, message, tmp_path):
    """Exit code 2, and a sentence on what to write."""
    (tmp_path / "job.yaml").write_text(TWO_ENDS)
    done = run(tmp_path / "job.yaml", *words)
    assert done.code == 2
    assert done.out == ""
    assert message in " ".join(done.err.split())


def test_a_swap_that_finds_nothing_is_an_error(run, tmp_path):
    """Exit code 2, by swap, with the name that is near in the jobs, and no page that could mislead."""
    (tmp_path / "job.yaml").write_text(TWO_ENDS)
    swap = ("--swap", "heatr=24 MJ/h", "--swap", "hob=25 MJ/h", "--swap", "urns=9 MJ/h")
    for form in ("table", "json", "csv"):
        done = run(tmp_path, *swap, "--format", form)
        assert done.code == 2
        assert "hob" not in done.out
        assert done.err.splitlines() == [
            "--swap heatr=24 MJ/h: no job has an appliance `heatr`; did you mean `heater`?",
            "--swap urns=9 MJ/h: no job has an appliance `urns`; did you mean `urn`?",
            "--allow-unused lets that pass",
        ]
    lines = run(tmp_path, *swap, "--format", "jsonl")
    assert (lines.code, len(lines.out.splitlines())) == (2, 1)
    assert run(tmp_path, *swap, "--allow-unused").code == 0
    twice = run(tmp_path, "--swap", "hob=9 MJ/h", "--swap", "hob=8 MJ/h")
    assert (twice.code, twice.out) == (2, "")
    assert "`hob` is swapped twice, for `9 MJ/h` and for `8 MJ/h`; leave one out" in twice.err


def test_swaps_and_results_come_from_files(run, tmp_path):
    """A file of swaps does what the options do; a file of result lines gives the table of the run that made it."""
    (tmp_path / "job.yaml").write_text(TWO_ENDS)
    (tmp_path / "swaps.yaml").write_text("swaps:\n  urn: 110 MJ/h\n  hob: wok-burner\n")
    by_file = run(tmp_path / "job.yaml", "--swaps", tmp_path / "swaps.yaml", "--format", "jsonl")
    by_option = run(tmp_path / "job.yaml", "--swap", "urn=110 MJ/h", "--swap", "hob=wok-burner", "--format", "jsonl")
    assert by_file.out == by_option.out != ""
    (tmp_path / "results.jsonl").write_text(by_file.out)
    table = run(tmp_path / "job.yaml", "--swaps", tmp_path / "swaps.yaml")
    assert run("--results", tmp_path / "results.jsonl").out == table.out
    (tmp_path / "swaps.yaml").write_text("swaps:\n  urn: 90 MJ\n")
    wrong = run(tmp_path / "job.yaml", "--swaps", tmp_path / "swaps.yaml")
    assert (wrong.code, wrong.out) == (2, "")
    assert wrong.err.startswith(f"{tmp_path}/swaps.yaml:2:3: swaps.urn: `90 MJ` is no appliance of the catalogue")
    (tmp_path / "results.jsonl").write_text(by_file.out + "{half a line\n")
    half = run("--results", tmp_path / "results.jsonl")
    assert half.code == 2
    assert half.err == f"{tmp_path}/results.jsonl:2:1: is no line of `drawbar recheck --format jsonl`\n"


def children_of(pid: int) -> list[int]:
    """Return the processes whose parent a process is."""
    children = []
    for name in os.listdir("/proc"):
        if name.isdigit():
            try:
                with open(f"/proc/{name}/stat", encoding="utf-8") as stream:
                    if int(stream.read().rpartition(")")[2].split()[1]) == pid:
                        children.append(int(name))
            except (FileNotFoundError, ProcessLookupError):
                continue
    return children


@pytest.fixture
def heeds_interrupts():
    """Let what is started heed an interrupt, as from a terminal: a shell tells what it runs with `&` to ignore it."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.skipif(not os.path.isdir("/proc/self"), reason="looks for left-over processes in /proc")
@pytest.mark.usefixtures("heeds_interrupts")
def test_ctrl_c_leaves_whole_lines_and_no_worker(tmp_path):
    """Interrupted half-way, what was printed is whole lines, the exit code is 130, and no worker is left.

    The program writes far more than a pipe holds, and only the first lines are read before the interrupt: however slow
    or quick the machine is, it can't be done by then. The minutes below end a test that hangs; nothing is timed.
    """
    make_jobs.make(tmp_path / "jobs", 50)
    files = sorted(map(str, (tmp_path / "jobs").iterdir()))
    (tmp_path / "list.txt").write_text("\n".join(files * 50))
    words = [sys.executable, "-m", "drawbar", "recheck", "--jobs-from", str(tmp_path / "list.txt")]
    running = subprocess.Popen(
        [*words, "--swap", "urn=wok-burner", "--format", "jsonl", "--workers", "2"],
        env=unmeasured(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    watchdog = threading.Timer(300, running.kill)
    watchdog.start()
    with running:
        printed = [running.stdout.readline() for _ in range(40)]
        workers = children_of(running.pid)
        os.killpg(running.pid, signal.SIGINT)
        printed += running.stdout.readlines()
        message = running.stderr.read()
    watchdog.cancel()
    assert 40 <= len(printed) < len(files) * 50
    assert all(text.endswith("}\n") and json.loads(text)["kind"] == "recheck" for text in printed)
    assert running.returncode == 130
    assert message == "\ndrawbar: stopped\n"
    assert len(workers) >= 2
    deadline = time.monotonic() + 120
    while any(os.path.exists(f"/proc/{pid}") for pid in workers) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not any(os.path.exists(f"/proc/{pid}") for pid in workers)


def test_the_file_is_only_read(run, tmp_path):
    """A recheck writes nothing into the job."""
    (tmp_path / "job.yaml").write_text(TWO_ENDS)
    before = nodes.read_text(str(tmp_path / "job.yaml"))
    run(tmp_path / "job.yaml", "--swap", "urn=110 MJ/h")
    assert nodes.read_text(str(tmp_path / "job.yaml")) == before
    assert os.listdir(tmp_path) == ["job.yaml"]


def test_results_from_standard_input_and_a_file_that_is_not_there(run, tmp_path):
    """`-` reads the lines from standard input; a file that is not there, or is no text, is told with exit code 2."""
    (tmp_path / "job.yaml").write_text(TWO_ENDS)
    lines = run(tmp_path / "job.yaml", "--swap", "urn=110 MJ/h", "--format", "jsonl").out
    back = run("--results", "-", "--format", "jsonl", stdin=lines)
    assert (back.code, back.out) == (1, lines)
    gone = run("--results", tmp_path / "gone.jsonl")
    assert (gone.code, gone.out) == (2, "")
    assert gone.err == f"{tmp_path}/gone.jsonl: can't be read: No such file or directory\n"
    (tmp_path / "binary.jsonl").write_bytes(b"\xff\n")
    binary = run("--results", tmp_path / "binary.jsonl")
    assert (binary.code, binary.out) == (2, "")
    assert binary.err.startswith(f"{tmp_path}/binary.jsonl: can't be read: 'utf-8' codec can't decode byte 0xff")


def test_no_job_file_is_told(run, tmp_path):
    """An empty folder has no jobs; a list that is not there has none either."""
    assert run(tmp_path) == (2, "", "no job files were found\n")
    assert run("--jobs-from", tmp_path / "list.txt") == (2, "", f"{tmp_path}/list.txt: there is no such file\n")
