"""What puts a job right, as sentences for a fitter and as data; `rechecking.result_lines` reads the data back."""

from __future__ import annotations

from typing import Any

from drawbar import units
from drawbar.remedies.changes import (
    Change,
    DeviceChange,
    HoseChange,
    LengthChange,
    LoadChange,
    SizeChange,
    rounded_down,
)
from drawbar.remedies.failing import DropShare
from drawbar.remedies.remedy import LARGER_HOSE, LARGER_RUNS, OTHER_DEVICE, SHORTER_HOSE, Remedies, Remedy
from drawbar.report.display import MJ_H, Shown
from drawbar.report.words import sentence

_MOST_SENTENCES = 3  # on a page of one screen
_KIND_WORDS = {
    LARGER_RUNS: "larger runs",
    LARGER_HOSE: "a larger hose",
    OTHER_DEVICE: "other devices",
    SHORTER_HOSE: "a shorter hose",
}


def remedy_sentences(remedies: Remedies, most: int | None = _MOST_SENTENCES) -> list[str]:
    """Return what puts a job right, the best first.

    Parameters
    ----------
    remedies : Remedies
        Those of a job.
    most : int or None
        How many remedies to tell, None for all.

    Returns
    -------
    list of str
        Sentences, the first with what is the bottleneck where it is no pipe; empty for a job that needs no remedy.
    """
    if remedies.bottleneck is None and not remedies.unfinished:
        return []
    shown, share = Shown(remedies.display), remedies.bottleneck
    sentences = []
    if share is not None and (share.place_kind, share.number) != ("run", None):
        sentences.append(_bottleneck_sentence(share, shown))
    listed = remedies.in_order[:most]
    if remedies.of_kind(LARGER_RUNS) is None and LARGER_RUNS not in remedies.unfinished:
        sentences.append("No pipe size of the families is enough by itself.")
    for number, remedy in enumerate(listed):
        text = remedy_sentence(remedy, shown)
        sentences.append(f"Or {text[:1].lower()}{text[1:]}" if number else text)
    if not remedies.in_order:
        sentences.append("No single kind of change puts it right.")
    if remedies.unfinished:
        kinds = ", ".join(_KIND_WORDS.get(kind, "a smaller appliance") for kind in remedies.unfinished)
        sentences.append(f"Not all tried, as there are too many combinations: {kinds}.")
    return sentences


def remedy_sentence(remedy: Remedy, shown: Shown) -> str:
    """Return a remedy in words, as `Make main 19.05 (as1432-b/19.05, now 15.88): passes with 12 Pa to spare at worst.`.

    Parameters
    ----------
    remedy : Remedy
        What would put a job right.
    shown : Shown
        The units of the job.

    Returns
    -------
    str
        With a full stop.
    """
    display = shown.display
    match remedy.changes[0]:
        case SizeChange() | HoseChange():
            changes = [_size_words(change) for change in remedy.changes]
            spare = shown.pressure_unit(max(0.0, remedy.margin_pa))
            # What passes by less than the last digit shown would read as nothing at all.
            end = f"passes with {spare} to spare at worst" if remedy.margin_pa > 0.0 else "just passes"
            proof = "" if remedy.is_proven else "; a smaller change may do, as the job is too large to prove it"
            return f"Make {_and(changes)}: {end}{proof}."
        case LengthChange(hose=hose, old_m=old_m, most_m=most_m):
            most = rounded_down(most_m, display.length, units.LENGTH)
            return f"Make hose {hose} no longer than {most} (now {shown.length_unit(old_m)}), if it still reaches."
        case DeviceChange():
            return _device_sentence(remedy, shown)
        case LoadChange(appliance=appliance, old_w=old_w, most_w=most_w):
            most = rounded_down(most_w, display.heat, units.HEAT_RATE)
            return f"Fit a smaller {appliance}, of no more than {most} (now {shown.heat_unit(old_w)}): it then passes."
    raise AssertionError(remedy)


def _size_words(change: Change) -> str:
    assert isinstance(change, SizeChange | HoseChange)
    name = change.run if isinstance(change, SizeChange) else f"hose {change.hose}"
    family, _, size = change.new.partition("/")
    old_family, _, old_size = change.old.partition("/")
    return f"{name} {size} ({change.new}, now {old_size if old_family == family else change.old})"


def _device_sentence(remedy: Remedy, shown: Shown) -> str:
    changes = [change for change in remedy.changes if isinstance(change, DeviceChange)]
    first = changes[0]
    most = rounded_down(first.most_pa, shown.display.pressure, units.PRESSURE)
    places = _and([f"{change.place_kind} {change.place}" for change in changes])
    each = "each " if len(changes) > 1 else ""
    return (
        f"Change the {first.device} of {places} for {'ones' if each else 'one'} that {each}"
        f"{'drop' if each else 'drops'} no more than {most} at {shown.heat_unit(first.flow_w)} "
        f"(now {shown.pressure_unit(first.old_pa)})."
    )


def _and(texts: list[str]) -> str:
    return texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} and {texts[-1]}"


def _bottleneck_sentence(share: DropShare, shown: Shown) -> str:
    what = f"{share.place_kind} {share.place}" if share.number is None else f"the {share.name} of {share.place}"
    return sentence(f"the largest drop is that of {what}, {shown.pressure_unit(share.drop_pa)} at worst")


# for scripts


def remedy_data(remedies: Remedies) -> dict[str, Any]:
    """Return remedies for JSON.

    Parameters
    ----------
    remedies : Remedies
        Those of a job.

    Returns
    -------
    dict
        `in_order` is a list, the best first, each with its kind, changes, edits of the job file and text; `unfinished`
        and `bottleneck` as in Remedies, and the job's units.
    """
    shown, share = Shown(remedies.display), remedies.bottleneck
    return {
        "in_order": [
            {
                "kind": remedy.kind,
                "changes": [_change_data(change) for change in remedy.changes],
                "edits": remedy.edits(remedies.display),
                "margin_Pa": remedy.margin_pa,
                "cost": remedy.cost,
                "cost_unit": remedy.unit,
                "proven": remedy.is_proven,
                "text": remedy_sentence(remedy, shown),
            }
            for remedy in remedies.in_order
        ],
        "unfinished": list(remedies.unfinished),
        "bottleneck": None
        if share is None
        else {
            "place_kind": share.place_kind,
            "place": share.place,
            "number": share.number,
            "name": share.name,
            "drop_Pa": share.drop_pa,
        },
        "units": remedies.display._asdict(),
    }


def _change_data(change: Change) -> dict[str, Any]:
    match change:
        case SizeChange(run=run, old=old, new=new):
            return {"run": run, "from": old, "to": new}
        case HoseChange(hose=hose, old=old, new=new):
            return {"hose": hose, "from": old, "to": new}
        case LengthChange(hose=hose, old_m=old_m, most_m=most_m):
            return {"hose": hose, "from_m": old_m, "to_m": most_m}
        case DeviceChange():
            return {
                "place_kind": change.place_kind,
                "place": change.place,
                "number": change.number,
                "device": change.device,
                "at_MJ_h": change.flow_w * MJ_H,
                "from_Pa": change.old_pa,
                "to_Pa": change.most_pa,
            }
        case LoadChange(appliance=appliance, old_w=old_w, most_w=most_w):
            return {"appliance": appliance, "from_MJ_h": old_w * MJ_H, "to_MJ_h": most_w * MJ_H}
