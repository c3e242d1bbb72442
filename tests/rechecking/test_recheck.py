"""`drawbar recheck`: swaps, verdicts, remedies that hold, bad files among good ones, workers, and Ctrl-C half-way."""

import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace

import pytest

import make_jobs
from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.check import check
from drawbar.jobfile import edit
from drawbar.jobfile.reader import job_of
from drawbar.rechecking.recheck import (
    FAIL_TO_PASS,
    PASS_TO_FAIL,
    STILL_FAILS,
    STILL_PASSES,
    UNREAD,
    UNTOUCHED,
    largest_input_w,
    parse_swap,
    recheck_file,
    recheck_job,
    swapped_job,
    verdict,
)
from drawbar.report.recheck_report import line, outcome_of
from drawbar.yamlfile import nodes

CATALOGUE = Catalogue()
JOB = """job: Two ends
ref: T-1
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa}
runs:
  main:  {from: regulator, pipe: as1432-b/12.70, length: 3 m}
  left:  {from: main, pipe: as1432-b/9.52, length: 1 m}
  right: {from: main, pipe: as1432-b/9.52, length: 1 m}
appliances:
  heater: {at: left, input: {like: urn}}
  hob:    {at: right, input: 20 MJ/h}
"""


def swaps(*texts):
    return [parse_swap(*text.split("=", 1), CATALOGUE) for text in texts]


def run(*words, **more):
    return subprocess.run(
        [sys.executable, "-m", "drawbar", "recheck", *map(str, words)],
        capture_output=True,
        text=True,
        timeout=60,
        **more,
    )


def test_a_swap_finds_appliances_by_name_and_by_what_they_are_like():
    """OLD is a job name or a catalogue entry; NEW is a catalogue entry or a rate in any of the units of a job file."""
    job = job_of(JOB, "job.yaml", CATALOGUE)
    by_name, names = swapped_job(job, swaps("hob=0.6 kg/h"))
    assert names == ("hob",)
    assert by_name.appliances[1].flow_kg_s == pytest.approx(0.6 / 3600)
    by_entry, names = swapped_job(job, swaps("urn=wok-burner"))
    assert names == ("heater",)
    assert by_entry.appliances[0].input_w == pytest.approx(30e6 / 3600)
    assert by_entry.appliances[0].like == "wok-burner"
    both, names = swapped_job(job, swaps("urn=24 MJ/h", "hob=8 kW"))
    assert names == ("heater", "hob")
    assert [one.input_w for one in both.appliances] == pytest.approx([24e6 / 3600, 8000.0])


@pytest.mark.parametrize(
    ("swap", "change"),
    [
        ("urn=30 MJ/h", STILL_PASSES),
        ("urn=100 MJ/h", PASS_TO_FAIL),
        ("nothing=30 MJ/h", UNTOUCHED),
    ],
)
def test_the_change_is_named(swap, change):
    """What passed and passes, what passed and fails, what the swap does not touch."""
    assert recheck_job(job_of(JOB, "job.yaml", CATALOGUE), swaps(swap), CATALOGUE).change == change


def test_a_job_that_failed_may_pass_after():
    """A smaller appliance puts a failing job right; a swap that is not enough leaves it failing."""
    failing = JOB.replace("20 MJ/h", "150 MJ/h")
    job = job_of(failing, "job.yaml", CATALOGUE)
    assert recheck_job(job, swaps("hob=20 MJ/h"), CATALOGUE).change == FAIL_TO_PASS
    assert recheck_job(job, swaps("hob=140 MJ/h"), CATALOGUE).change == STILL_FAILS


def test_the_verdict_is_that_of_check():
    """The quick verdict has the margin, the state and the appliance of the full check, over many jobs."""
    for number in range(60):
        job = job_of(make_jobs.job_text(number), "job.yaml", CATALOGUE)
        quick, full = verdict(job), check(job)
        assert quick.passes == full.passes
        assert quick.margin_pa == full.states[0].margin_pa
        worst = min(full.states[0].appliances, key=lambda one: one.margin_pa)
        assert quick.appliance == worst.name


def test_the_suggested_sizes_put_the_job_right():
    """Written into the file with the swap made, the suggested sizes pass; without any one of them the job fails."""
    job = job_of(JOB, "job.yaml", CATALOGUE)
    swap = swaps("urn=110 MJ/h")
    outcome = recheck_job(job, swap, CATALOGUE)
    assert outcome.change == PASS_TO_FAIL
    sizes = {run: new for run, _, new in outcome.remedy.sizes}
    assert sizes

    def passes(labels):
        text = edit.with_sizes(JOB, "job.yaml", labels)
        return check(swapped_job(job_of(text, "job.yaml", CATALOGUE), swap)[0]).passes

    assert passes(sizes)
    for run in sizes:
        assert not passes({name: size for name, size in sizes.items() if name != run})


def test_where_no_size_is_enough_the_largest_appliance_is_told():
    """The largest input passes, and one in a thousand more fails, the pipes as they are."""
    own_pipe = JOB.replace("as1432-b/12.70", "{bore: 10.88 mm}").replace("as1432-b/9.52", "{bore: 7.7 mm}")
    job = job_of(own_pipe, "job.yaml", CATALOGUE)
    outcome = recheck_job(job, swaps("urn=120 MJ/h"), CATALOGUE)
    assert outcome.change == PASS_TO_FAIL
    assert outcome.remedy.sizes == ()
    ((name, largest_w),) = outcome.remedy.largest_w
    assert name == "heater"
    for factor, passes in ((1.0, True), (1.001, False)):
        input_w = largest_w * factor
        heater = replace(job.appliances[0], input_w=input_w, flow_kg_s=input_w / job.gas.gross_j_kg)
        assert check(replace(job, appliances=(heater, job.appliances[1]))).passes is passes
    assert largest_input_w(job, "heater") == pytest.approx(largest_w)


def test_a_line_can_be_read_back():
    """An outcome written as a line of JSON reads back as the same outcome, remedies and problems included."""
    job = job_of(JOB, "job.yaml", CATALOGUE)
    for outcome in (
        recheck_job(job, swaps("urn=110 MJ/h"), CATALOGUE),
        recheck_job(job, swaps("urn=30 MJ/h"), CATALOGUE),
        recheck_file("no-such-file.yaml", CATALOGUE, []),
    ):
        assert outcome_of(line(outcome)) == outcome


@pytest.fixture
def folder(tmp_path):
    """Make a folder with a job that passes, one that fails, and four files that can't be read as jobs."""
    (tmp_path / "a-good.yaml").write_text(JOB)
    (tmp_path / "b-failing.yaml").write_text(JOB.replace("20 MJ/h", "150 MJ/h"))
    (tmp_path / "c-problems.yaml").write_text(JOB.replace("3 m", "3").replace("propane", "protane"))
    (tmp_path / "d-binary.yaml").write_bytes(bytes(range(256)))
    (tmp_path / "e-unreadable.yaml").symlink_to(tmp_path / "nowhere.yaml")
    (tmp_path / "f-folder.yaml").mkdir()
    return tmp_path


def test_one_bad_job_does_not_stop_the_rest(folder):
    """All are told, the exit code is the highest, and the good ones are done."""
    names = ["a-good", "b-failing", "c-problems", "d-binary", "e-unreadable", "missing"]
    files = [folder / f"{name}.yaml" for name in names]
    done = run(*files, "--swap", "urn=24 MJ/h", "--format", "jsonl")
    assert done.returncode == 2
    outcomes = [json.loads(text) for text in done.stdout.splitlines()]
    assert [outcome["change"] for outcome in outcomes] == [STILL_PASSES, STILL_FAILS, UNREAD, UNREAD, UNREAD, UNREAD]
    assert done.stderr.splitlines() == [
        f"{files[2]}:3:6: gas: `protane` is not a gas of the catalogue; did you mean `propane`?",
        f"{files[2]}:7:58: runs.main.length: `3` has no unit; write one of mm, cm, m, in, ft behind it",
        f"{files[3]}:2:118: byte 0x80 is not UTF-8 text; save the file as UTF-8",
        f"{files[4]}: there is no such file",
        f"{files[5]}: there is no such file",
    ]
    good = run(files[0], "--swap", "urn=24 MJ/h")
    assert good.returncode == 0
    failing = run(files[0], files[1])
    assert failing.returncode == 1


def test_folders_patterns_and_lists_name_the_jobs(folder):
    """A folder stands for its job files in order, a pattern for what it matches, a list for its lines."""
    (folder / "f-folder.yaml" / "deep.yml").write_text(JOB)
    whole = [json.loads(text)["file"] for text in run(folder, "--format", "jsonl").stdout.splitlines()]
    assert whole[:2] == [str(folder / "a-good.yaml"), str(folder / "b-failing.yaml")]
    assert whole[-1] == str(folder / "f-folder.yaml" / "deep.yml")
    pattern = run(folder / "[ab]*.yaml", "--format", "csv")
    assert [text.split(",")[0] for text in pattern.stdout.splitlines()[1:]] == whole[:2]
    listed = run("--jobs-from", "-", "--format", "csv", input=f"{whole[0]}\n\n{whole[1]}\n")
    assert listed.stdout == pattern.stdout


def test_the_table_puts_what_changed_first(folder):
    """The jobs that now fail come first with what would put them right, then the worst margins, then the totals."""
    done = run(folder / "a-good.yaml", folder / "b-failing.yaml", "--swap", "urn=110 MJ/h")
    assert done.returncode == 1
    words = done.stdout
    assert words.index("Pass to fail: 1") < words.index("What would put them right:") < words.index("Still fails: 1")
    assert "In all: 1 pass to fail, 1 still fails." in words
    assert max(map(len, words.splitlines())) <= 80


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--swap", "urn"], "`urn` is not OLD=NEW; write for example `urn=24 MJ/h`"),
        (
            ["--swap", "urn=wok-burnr"],
            "`wok-burnr` is no appliance of the catalogue and no rate; did you mean `wok-burner`?",
        ),
        (["--swap", "urn=30000 MJ/h"], "`30000 MJ/h` can't be right; write from 0.1 MJ/h to 5000 MJ/h"),
        (["--swap", "=3 kW"], "a swap has no old appliance; write OLD=NEW, as `urn=24 MJ/h`"),
        (["--results", "x.jsonl"], "--results takes the place of jobs and swaps."),
        (["--workers", "0"], "0 is not in the range 1<=x<=64."),
    ],
)
def test_a_wrong_call_is_told(words, told, tmp_path):
    """Exit code 2, and a sentence on what to write."""
    (tmp_path / "job.yaml").write_text(JOB)
    done = run(tmp_path / "job.yaml", *words)
    assert done.returncode == 2
    assert done.stdout == ""
    assert told in " ".join(done.stderr.split())


def test_swaps_and_results_come_from_files(tmp_path):
    """A file of swaps does what the options do; a file of result lines gives the table of the run that made it."""
    (tmp_path / "job.yaml").write_text(JOB)
    (tmp_path / "swaps.yaml").write_text("swaps:\n  urn: 110 MJ/h\n  hob: wok-burner\n")
    by_file = run(tmp_path / "job.yaml", "--swaps", tmp_path / "swaps.yaml", "--format", "jsonl")
    by_option = run(tmp_path / "job.yaml", "--swap", "urn=110 MJ/h", "--swap", "hob=wok-burner", "--format", "jsonl")
    assert by_file.stdout == by_option.stdout != ""
    (tmp_path / "results.jsonl").write_text(by_file.stdout)
    table = run(tmp_path / "job.yaml", "--swaps", tmp_path / "swaps.yaml")
    assert run("--results", tmp_path / "results.jsonl").stdout == table.stdout
    (tmp_path / "swaps.yaml").write_text("swaps:\n  urn: 90 MJ\n")
    wrong = run(tmp_path / "job.yaml", "--swaps", tmp_path / "swaps.yaml")
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert wrong.stderr.startswith(f"{tmp_path}/swaps.yaml:2:3: swaps.urn: `90 MJ` is no appliance of the catalogue")
    (tmp_path / "results.jsonl").write_text(by_file.stdout + "{half a line\n")
    half = run("--results", tmp_path / "results.jsonl")
    assert half.returncode == 2
    assert half.stderr == f"{tmp_path}/results.jsonl:2:1: is no line of `drawbar recheck --format jsonl`\n"


def test_workers_give_the_same_in_the_same_order(tmp_path):
    """Two workers print what one process prints, line for line."""
    make_jobs.make(tmp_path, 80)
    one = run(tmp_path, "--swap", "urn=wok-burner", "--format", "jsonl")
    two = run(tmp_path, "--swap", "urn=wok-burner", "--format", "jsonl", "--workers", "2")
    assert one.stdout == two.stdout
    assert len(one.stdout.splitlines()) == 80
    assert one.returncode == two.returncode == 1


def children_of(pid: int) -> list[int]:
    """Return the processes whose parent a process is."""
    found = []
    for name in os.listdir("/proc"):
        if name.isdigit():
            try:
                with open(f"/proc/{name}/stat", encoding="utf-8") as stream:
                    if int(stream.read().rpartition(")")[2].split()[1]) == pid:
                        found.append(int(name))
            except (FileNotFoundError, ProcessLookupError):
                continue
    return found


@pytest.mark.skipif(not os.path.isdir("/proc/self"), reason="looks for left-over processes in /proc")
def test_ctrl_c_leaves_whole_lines_and_no_worker(tmp_path):
    """Interrupted half-way, what was printed is whole lines, the exit code is 130, and no worker is left."""
    make_jobs.make(tmp_path / "jobs", 1500)
    words = [sys.executable, "-m", "drawbar", "recheck", str(tmp_path / "jobs"), "--swap", "urn=wok-burner"]
    results = tmp_path / "results.jsonl"
    with results.open("w") as stream:
        running = subprocess.Popen(
            [*words, "--format", "jsonl", "--workers", "2"],
            stdout=stream,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
    with running:
        for _ in range(600):
            if results.read_text().count("\n") >= 40:
                break
            time.sleep(0.05)
        workers = children_of(running.pid)
        os.killpg(running.pid, signal.SIGINT)
        told = running.communicate(timeout=20)[1]
    printed = results.read_text().splitlines(keepends=True)
    assert 40 <= len(printed) < 1500
    assert all(text.endswith("}\n") and json.loads(text)["kind"] == "recheck" for text in printed)
    assert running.returncode == 130
    assert told == "\ndrawbar: stopped\n"
    assert len(workers) >= 2
    for _ in range(50):
        if not any(os.path.exists(f"/proc/{pid}") for pid in workers):
            break
        time.sleep(0.1)
    assert not any(os.path.exists(f"/proc/{pid}") for pid in workers)


def test_the_file_is_only_read(tmp_path):
    """A recheck writes nothing into the job."""
    (tmp_path / "job.yaml").write_text(JOB)
    before = nodes.read_text(str(tmp_path / "job.yaml"))
    run(tmp_path / "job.yaml", "--swap", "urn=110 MJ/h")
    assert nodes.read_text(str(tmp_path / "job.yaml")) == before
    assert os.listdir(tmp_path) == ["job.yaml"]
