"""The commands that write, each small enough to be stopped hundreds of times."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

ROOM = """\
title: A small room
question: What is lost when a command is stopped?
start: 2026-03-02
study: {seed: 7, replications: 22, reference: a, outputs: [weaned, intake]}
room: {crates: 1}
alternatives:
  a: {}
  b: {handling.day: 5}
"""
WARD = """\
title: A ward
start: 2026-03-02
room: {crates: 4}
"""
PROGRAMME = """\
title: A small programme
study: {seed: 7, replications: 22, parts: [b, c]}
room: {crates: 1}
alternatives:
  b: {handling.day: 5}
  c: {feeding.times: ["06:00", "10:00", "15:00"]}
"""

FARM_WATCHED = ["records", "simulate", "ward.yaml", "--litters", "8", "--out", "farm"]
FARM = ["records", "simulate", "room.yaml", "--litters", "40", "--out", "farm"]
RECORDS = ["--farrowings", "farm/farrowings.csv", "--days", "farm/days.csv"]
STUDY = ["--study", "study"]
IN_PROCESSES = ["--executor", "processes", "--workers", "2"]


@dataclass(frozen=True)
class Program:
    """A command line that is stopped and then run `again`.

    `before`: command lines whose files it needs. `earlier`: options of a run that was there before, under the same names.
    """

    name: str
    words: tuple[str, ...]
    again: tuple[str, ...]
    before: tuple[tuple[str, ...], ...] = ()
    earlier: tuple[str, ...] | None = None
    writes_once: bool = False  # where its files are there already, it refuses to write them
    share: float = 1.0  # of the stops asked for; less where one takes long

    def write_inputs(self, folder: Path) -> None:
        for name, text in (("room.yaml", ROOM), ("ward.yaml", WARD), ("programme.yaml", PROGRAMME)):
            (folder / name).write_text(text, encoding="utf-8")


def _program(
    name: str,
    *words: str,
    before: tuple[list[str], ...] = (),
    earlier: tuple[str, ...] | None = ("--seed", "9"),
    resumes: bool = False,
    writes_once: bool = False,
    share: float = 1.0,
) -> Program:
    """`resumes`: it keeps a study, goes on with it, and has no earlier run."""
    return Program(
        name,
        words,
        (*words, "--resume") if resumes else words,
        tuple(map(tuple, before)),
        None if resumes else earlier,
        writes_once,
        share,
    )


PROGRAMS = {
    program.name: program
    for program in (
        _program("compare", "compare", "room.yaml", "--out", "out"),
        _program("compare --study", "compare", "room.yaml", *STUDY, "--out", "out", resumes=True),
        _program(
            "compare --executor processes",
            "compare", "room.yaml", *STUDY, *IN_PROCESSES, "--out", "out",
            resumes=True,
        ),
        _program("compare --doubt", "compare", "room.yaml", "-n", "20", "--doubt", "--doubt-draws", "40", *STUDY, "--out", "out", resumes=True, share=0.1),
        _program(
            "report",
            "report", "study", "--out", "out",
            before=(["compare", "room.yaml", "-n", "20", *STUDY, "--out", "aside"],),
            earlier=("--units", "us"),
        ),
        _program("sweep", "sweep", "room.yaml", "--vary", "handling.day=4", "--best", "weaned", "--pareto", "weaned,labour", "--out", "out"),
        _program("sweep --study", "sweep", "room.yaml", "--vary", "handling.day=4", *STUDY, "--out", "out", resumes=True),
        _program("parts", "parts", "programme.yaml", "--out", "out"),
        _program("parts --study", "parts", "programme.yaml", *STUDY, "--out", "out", resumes=True),
        _program("pick --study", "pick", "room.yaml", "--output", "intake", "--indifference", "0.05", "-n", "60", *STUDY, resumes=True),
        _program("pairing", "pairing", "room.yaml", "--out", "out"),
        _program("pairing --study", "pairing", "room.yaml", *STUDY, "--out", "out", resumes=True),
        _program("each-sow", "each-sow", "room.yaml", "--alternative", "b", "--out", "out"),
        _program("each-sow --study", "each-sow", "room.yaml", "--alternative", "b", *STUDY, "--out", "out", resumes=True),
        _program("labour", "labour", "room.yaml", "--out", "out"),
        _program("run", "run", "room.yaml", "-n", "20", "--out", "out"),
        _program("story", "story", "room.yaml", "-n", "5", "--find", "worst-litter", "--against", "b", "--out", "story.html"),
        _program("replay", "replay", "room.yaml", "--alternative", "b", "--against", "a", "--out", "out"),
        _program("protocol", "protocol", "room.yaml", "--alternative", "b", "--out", "out", earlier=("--date", "1 May")),
        _program("sheets", "sheets", "room.yaml", "--alternative", "b", "--out", "out", earlier=("--date", "1 May")),
        _program(
            "watch",
            "watch", "ward.yaml", "--days", "farm/days.csv", "--morning", "2026-03-25", "--out", "out",
            before=(FARM_WATCHED,),
            share=0.1,
        ),
        _program("audit", "audit", "room.yaml", *RECORDS, "--out", "out", before=(FARM,), share=0.1),
        _program("records simulate", *FARM),
        _program("records check", "records", "check", "farm/farrowings.csv", "--days", "farm/days.csv", "--out", "out", before=(FARM,), earlier=None),
        _program(
            "records describe",
            "records", "describe", "farm/farrowings.csv", "--days", "farm/days.csv", "--out", "farm.yaml",
            before=(FARM,),
            earlier=("--like", "room.yaml"),
        ),
        _program(
            "calibrate",
            "calibrate", "room.yaml", "--records", "farm/farrowings.csv", "--move", "herd.stillbirth_level", "--out", "out",
            before=(FARM,),
            share=0.1,
        ),
        _program("describe", "describe", "room.yaml", "--out", "description.md", earlier=None),
        _program("lessons", "lessons", "--out", "out", earlier=None),
        _program("new", "new", "feeding", "--out", "new.yaml", earlier=None, writes_once=True),
        _program(
            "reproduce",
            "reproduce", "made",
            before=(["run", "room.yaml", "-n", "20", "--out", "made"],),
            earlier=None,
        ),
    )
}  # fmt: skip
