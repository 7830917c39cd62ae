"""Protocols, daily sheets, crate cards and audits: every line comes from a key, and nothing is promised that no key says."""

import html.parser
import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import farrowtide
from farrowtide import policies
from farrowtide.cautions import CAUTION
from farrowtide.commands.main import main
from farrowtide.engine.result import CAUSES
from farrowtide.errors import FileError
from farrowtide.report.protocol import lines
from farrowtide.report.protocol.phrases import BLANK, english, load_yaml, placeholders, read_phrases, text_of
from farrowtide.report.protocol.values import DEFAULT
from farrowtide.scenarios.declarations import declaration, visit
from farrowtide.scenarios.plausibility.facts import Facts

ROOT = Path(__file__).parents[2]
FAMILIES = ("loading", "feeding", "water", "temperature", "attendance", "care", "fostering", "handling")
# A key of each kind of policy, a value that the base does not have, and what the base has beside the defaults.
CHANGES = [
    ("loading.days_before_due", 5, {}),
    ("loading.kind", "gilts_spread", {}),
    ("loading.teach", "slow_to_eat", {}),
    ("loading.again", True, {}),
    ("loading.ready_within", "30 h", {}),
    ("feeding.times", ["06:30", "11:00", "15:00"], {}),
    ("feeding.shares", [0.3, 0.7], {}),
    ("feeding.remove_stale", "never", {}),
    ("feeding.night_top_up", "21:00", {}),
    ("feeding.water_added", True, {}),
    ("feeding.pre_farrow.allowance", "2.2 kg/d", {}),
    ("feeding.pre_farrow.times", ["08:00"], {}),
    ("feeding.allowance.start", "2 kg/d", {}),
    ("feeding.allowance.step", "0.5 kg/d", {}),
    ("feeding.allowance.max", "8 kg/d", {}),
    ("feeding.allowance.farrowing_day_share", 0.3, {}),
    ("feeding.allowance.change_by_parity", [-0.5, 0.5], {}),
    ("feeding.allowance.raise", "0.4 kg/d", {"feeding.allowance.rule": "by_trough"}),
    ("feeding.allowance.lower", "0.5 kg/d", {"feeding.allowance.rule": "by_trough"}),
    ("feeding.allowance.min", "1.5 kg/d", {"feeding.allowance.rule": "by_trough"}),
    ("feeding.allowance.empty_up_to", 0.1, {"feeding.allowance.rule": "by_trough"}),
    ("feeding.allowance.untouched_from", 0.6, {"feeding.allowance.rule": "by_trough"}),
    ("feeding.allowance.amount", "7 kg/d", {"feeding.allowance.rule": "flat"}),
    ("feeding.top_up", "0.8 kg", {"feeding.night_top_up": "21:00"}),
    ("feeding.allowance.amounts", [3, 4], {"feeding.allowance": {"rule": "by_day", "amounts": [2, 3]}}),
    ("feeding.look", "08:30", {"feeding": {"kind": "drops"}}),
    ("feeding.from_day", 3, {"feeding": {"kind": "full_access"}}),
    ("feeding.unless_backfat_over", "20 mm", {"feeding": {"kind": "full_access", "from_day": -3}}),
    ("feeding.wet", True, {"feeding": {"kind": "full_access"}}),
    ("feeding.readings", True, {"feeding": {"kind": "full_access"}}),
    ("water.every", 3, {}),
    ("water.action_limit", "1.5 L/min", {}),
    ("water.kind", "on_suspicion", {}),
    ("temperature.farrowing", "23.5 degC", {}),
    ("temperature.later", "18 degC", {}),
    ("temperature.from_day", 3, {}),
    ("temperature.by_day", 10, {}),
    ("temperature.setback", "3 K", {"temperature": {"kind": "night_setback"}}),
    ("temperature.from_hour", 22, {"temperature": {"kind": "night_setback"}}),
    ("temperature.until_hour", 5, {"temperature": {"kind": "night_setback"}}),
    ("temperature.setback_from_day", 12, {"temperature": {"kind": "night_setback"}}),
    ("temperature.above", "18 degC", {"temperature": {"kind": "weather_led"}}),
    ("temperature.per_degree", 0.5, {"temperature": {"kind": "weather_led"}}),
    ("temperature.min", "16 degC", {"temperature": {"kind": "weather_led"}}),
    ("temperature.set_point", "21 degC", {"temperature": {"kind": "constant"}}),
    ("attendance.round_every", "20 min", {}),
    ("attendance.help_after", "45 min", {}),
    ("attendance.help_again_after", "20 min", {}),
    ("attendance.night_people", 1, {}),
    ("attendance.care_intensity", 0.5, {}),
    ("attendance.look_every", "40 min", {"attendance": {"kind": "close_watch"}}),
    ("attendance.worry_after", "25 min", {"attendance": {"kind": "close_watch"}}),
    ("attendance.kind", "present", {}),
    ("care.checks", ["nursing", "udder", "legs"], {}),
    ("care.after", "36 h", {}),
    ("care.alarm", "40 degC", {}),
    ("care.until_day", 5, {}),
    ("care.whom", "at_risk", {}),
    ("care.stand_up", ["10:00"], {}),
    ("care.stand_up_whom", "flagged", {"care.stand_up": ["10:00"]}),
    ("care.legs_at_loading", True, {}),
    ("care.wean_early", True, {}),
    ("care.wean_from_day", 22, {"care.wean_early": True}),
    ("care.off_feed_days", 3, {"care.wean_early": True}),
    ("care.wean_lame", True, {"care.wean_early": True}),
    ("care.signs_to_treat", 3, {}),
    ("care.treat", False, {}),
    ("care.kind", "by_temperature", {}),
    ("fostering.times", ["10:00"], {"fostering": {"kind": "fill_teats"}}),
    ("fostering.window.from", "6 h", {"fostering": {"kind": "fill_teats"}}),
    ("fostering.window.until", "48 h", {"fostering": {"kind": "fill_teats"}}),
    ("fostering.max_moved", 0.1, {"fostering": {"kind": "fill_teats"}}),
    ("fostering.closed_after_day", 5, {"fostering": {"kind": "by_size"}}),
    ("fostering.only_once", False, {"fostering": {"kind": "by_size"}}),
    ("fostering.from_sick_litters", True, {"fostering": {"kind": "fill_and_equalise"}}),
    ("fostering.nurse_sows", 2, {"fostering": {"kind": "fill_and_equalise"}}),
    ("fostering.kind", "fill_teats", {}),
    ("handling.day", 4, {}),
    ("handling.days", [2, 4], {"handling": {"kind": "split"}}),
    ("group.lactation_days", 24, {}),
    ("group.weaning", "each_sow", {}),
    ("induction.kind", "split", {}),
    ("room.trough_capacity", "6 kg", {}),
    ("room.feed_keeps", "20 h", {}),
    ("room.light_from", 7, {}),
    ("room.sow_cooling", "drip", {}),
    ("room.deep_pit", True, {}),
    ("diet.fibre", "added", {}),
    ("staff.shifts", [{"from": "06:00", "until": "15:00", "people": 3, "break_from": "10:00"}], {}),
    ("moves", [{"day": 6, "from": 1, "to": 2, "piglets": 2}], {}),
]


def scenario(**changes):
    return farrowtide.load({"title": "a room", "room": {"crates": 4}}).override(changes)


def everything_in(document):
    """Each line of a protocol with the keys that it names: steps by name, rows of tables by table and first cell."""
    found = {
        step.name: ((step.do, step.when, step.then, step.who, step.evidence), set(step.keys))
        for chapter in document.chapters
        for step in chapter.steps
    }
    return found | {table.name: (table.rows, set(table.keys)) for table in document.tables}


@pytest.mark.parametrize(("key", "value", "beside"), CHANGES, ids=[key for key, *_ in CHANGES])
def test_changing_a_key_changes_the_page_and_only_lines_that_name_it(key, value, beside):
    base = scenario(**beside) if beside else scenario()
    before, after = (everything_in(farrowtide.protocol(each)) for each in (base, base.override({key: value})))
    changed = {name for name in before.keys() | after.keys() if before.get(name, ("",))[0] != after.get(name, ("",))[0]}
    assert changed
    kind_changed = key.endswith(".kind")
    for name in changed:
        named = set().union(*(each[name][1] for each in (before, after) if name in each))
        of_key = {of for of in named if of == key or of.startswith(f"{key}.")}
        # A policy of another kind has other keys, so lines of its whole family may come and go.
        of_family = {of for of in named if kind_changed and of.startswith(key.removesuffix("kind"))}
        assert of_key | of_family, name


def test_the_list_of_changed_keys_covers_every_family_and_each_of_their_keys():
    changed = {key for key, *_ in CHANGES}
    in_change = {f"{key}.{name}" for key, value, _ in CHANGES if isinstance(value, dict) for name in value}
    declared = {path for family in declaration().keys if family.name in FAMILIES for path in families_keys(family)}
    beside = {key for _, _, given in CHANGES for key in given}
    with_another_kind = {f"{family}.kind" for _, _, given in CHANGES for family in given}
    assert declared - changed - in_change - beside - with_another_kind == set()
    assert {key.partition(".")[0] for key in changed} >= set(FAMILIES)


def families_keys(family):
    return {path for key, path, _ in visit([family]) if not key.keys and not key.variants} | {f"{family.name}.kind"}


@pytest.mark.parametrize("family", FAMILIES)
def test_each_key_in_effect_of_every_kind_of_policy_stands_in_the_protocol(family):
    of_family = next(key for key in declaration().keys if key.name == family)
    variants = next(key for key in of_family.keys if key.name == "kind").variants
    assert len(variants) >= 2
    missing = {}
    for variant in variants:
        with_kind = scenario(**{family: {"kind": variant.name}})
        document = farrowtide.protocol(with_kind)
        named = {key for _, keys in everything_in(document).values() for key in keys}
        settings = Facts(with_kind).settings.values()
        in_effect = {
            setting.path
            for setting in settings
            if setting.path.startswith(f"{family}.")
            and applies(setting.only_with, with_kind)
            and setting.value not in ("false", "0", "[]")  # not done: nothing to write
        }
        # Nothing is written of a round that is switched off by another key either, nor of an allowance with full access.
        off = {"feeding.top_up", "care.stand_up_whom"}
        off |= (
            {"feeding.allowance." + name for name in ("rule", "start", "step", "max", "farrowing_day_share")}
            if (variant.name == "full_access")
            else set()
        )
        if extra := in_effect - named - off:
            missing[variant.name] = extra
    assert not missing


def applies(only_with, of):
    if not only_with:
        return True
    key, _, values = only_with.partition(": ")
    return Facts(of).value(key) in values.split(", ")


def test_every_step_has_words_and_all_words_have_a_step():
    chapters = lines.catalogue()["chapters"]
    named = {f"steps.{chapter}.{name}" for chapter, steps in chapters.items() for name in steps}
    worded = {name.rpartition(".")[0] for name in english().texts if name.startswith("steps.")}
    assert worded == named | {"steps.own.policy"}
    declared = {path for _, path, _ in visit(declaration().keys)}
    used = {
        re.sub(r"\.#", "[]", name.partition("|")[0])
        for path, text in english().texts.items()
        if path.startswith(("steps.", "audit.", "tasks."))
        for name in placeholders(text)
    } - {"own.kind", "own.family"}
    assert used <= declared


def test_a_value_that_the_file_does_not_give_is_marked_and_traced_to_its_line(tmp_path):
    file = tmp_path / "farm.yaml"
    file.write_text("title: A farm\nhandling:\n  kind: bundled\n  day: 4\n", encoding="utf-8")
    document = farrowtide.protocol(farrowtide.load(file))
    steps = {step.name: step for chapter in document.chapters for step in chapter.steps}
    assert steps["handling.bundled"].when == "Day 4 of the litter"
    assert steps["attendance.rounds" if "attendance.rounds" in steps else "farrowing.rounds"].when.startswith(
        f"Every 30 min{DEFAULT}"
    )
    traces = {trace.key: trace for trace in document.traces}
    assert traces["handling.day"].origin == "line 4"
    assert traces["attendance.round_every"].origin == "default"
    assert traces["attendance.round_every"].grade.startswith("C: common practice")
    assert traces.keys() == {key for _, keys in everything_in(document).values() for key in keys}


@pytest.mark.parametrize(("from_day", "by_amount"), [(-2, False), (0, False), (1, True), (4, True)])
def test_amounts_are_written_only_for_days_before_full_access(from_day, by_amount):
    document = farrowtide.protocol(scenario(feeding={"kind": "full_access", "from_day": from_day}))
    steps = {step.name for chapter in document.chapters for step in chapter.steps}
    assert ("feeding.step_up" in steps) == by_amount
    assert [len(table.rows) for table in document.tables if table.name == "allowance"] == [from_day] * by_amount


def test_units_are_those_of_the_file_or_as_asked_for():
    room = scenario(**{"temperature.farrowing": "73 degF", "feeding.pre_farrow.allowance": "2.5 kg/d"})
    pages = {units: farrowtide.protocol(room, units=units).markdown for units in ("as_written", "si", "us")}
    assert "Set point 73 °F" in pages["as_written"]
    assert "2.5 kg a day" in pages["as_written"]
    assert "Set point 22.78 °C" in pages["si"]
    assert "Set point 73 °F" in pages["us"]
    assert "5.51 lb a day" in pages["us"]
    with pytest.raises(farrowtide.UserError, match="units = 'imperial'"):
        farrowtide.protocol(room, units="imperial")


HAND = {"kind": "hand", "times": ["07:00", "15:00"]}
RULES = {
    "step_up": {"rule": "step_up", "start": 2, "step": 0.7, "max": 6, "change_by_parity": [-0.5, 0, 0.5]},
    "flat": {"rule": "flat", "amount": 5},
    "by_day": {"rule": "by_day", "amounts": [2, 3.5, 4]},
}


@pytest.mark.parametrize("rule", RULES)
def test_planned_feed_is_what_the_engine_pours(rule):
    room = scenario(**{"herd.health": "off", "feeding": HAND | {"allowance": RULES[rule], "shares": [0.4, 0.6]}})
    days = farrowtide.run(room, replications=1, seed=2).sow_days
    poured = days.assign(kg=days["offered_kg"] + days["undelivered_kg"])
    planner = lines_of_days(room)
    whole = poured[(poured["day"] >= 1) & (poured["day"] < 18)]
    planned = [
        planner.feed_of(int(day), int(parity)).kg_per_day
        for day, parity in zip(whole["day"], whole["parity"], strict=True)
    ]
    assert len(planned) > 50
    assert whole["kg"].to_numpy() == pytest.approx(planned, abs=0.003)  # the engine counts grams


def lines_of_days(room):
    from farrowtide.report.protocol.days import Planner
    from farrowtide.report.protocol.values import Values

    return Planner(Values(room, english(), "si"), [])


@pytest.mark.parametrize(
    "changes",
    [
        {
            "water": {"kind": "in_turn", "every": 3},
            "handling": {"kind": "split", "days": [2, 5]},
            "care.stand_up": ["10:00"],
        },
        {
            "water": {"kind": "every_drinker", "every": 4},
            "care.stand_up": ["14:00"],
            "care.stand_up_whom": "first_parity",
        },
        {"feeding": {"kind": "full_access", "from_day": 2}},
    ],
    ids=["in turn", "every fourth day", "full access"],
)
def test_work_of_a_day_is_what_the_engine_asks_of_its_staff(changes):
    room = scenario(**{"herd.health": "off", "room.crates": 8, **changes})
    tasks = farrowtide.run(room, replications=1, seed=room.study.seed).tasks
    made = farrowtide.sheets(room, parts=["days"])
    asked = {}
    for task in tasks.itertuples():
        asked.setdefault((int(task.asked_h // 24) - 4, task.kind, round(task.asked_h % 24, 1)), []).append(task.animals)
    due = {row.crate.due for row in made.days[0].crates}
    compared = 0
    for day in made.days:
        farrowing = {day.day, day.day - 1} & due  # how many have farrowed depends on the hour on these days
        for work in day.work:
            alike = work.task in (
                "drinker check",
                "processing",
                "stand up",
                "load sow",
                "wean",
                "daily look",
                "feed by hand",
                "full-access top-up",
            )
            if not alike or work.sows is None or (farrowing and work.task not in ("drinker check", "load sow")):
                continue
            hour = int(work.time[:2]) + int(work.time[3:]) / 60
            assert sum(asked.get((day.day, work.task, hour), [])) == work.sows, (day.day, work)
            compared += 1
    assert compared > 40
    planned = {(day.day, work.task) for day in made.days for work in day.work}
    for day, task, _ in asked:
        if task in ("drinker check", "processing", "wean", "load sow") and not {day, day - 1} & due:
            assert (day, task) in planned


def test_minutes_of_processing_are_those_of_a_litter():
    """As the engine's people need for a litter of the herd; its litters have lost some piglets by then, and vary."""
    room = scenario()
    visits = farrowtide.run(room, replications=8, seed=4, record=CAUSES).visits
    visits = visits[(visits["kind"] == "processing") & visits["done_h"].notna()]
    planned = next(
        work.minutes / work.sows
        for day in farrowtide.sheets(room).days
        for work in day.work
        if work.task == "processing" and work.sows
    )
    assert planned == pytest.approx(visits["minutes"].mean(), rel=0.25)


def test_troughs_are_read_before_they_are_filled():
    room = scenario(**{"feeding.allowance.rule": "by_trough"})
    for day in farrowtide.sheets(room).days:
        order = [work.task for work in day.work if work.time == "07:00"]
        if "trough check" in order:
            assert order.index("trough check") < order.index("feed by hand")


def test_a_day_without_a_shift_has_no_hour_to_begin_at():
    weekdays = ["mon", "tue", "wed", "thu", "fri"]
    room = scenario(
        **{"start": "2026-01-12", "staff.shifts": [{"days": weekdays, "people": 1, "from": "07:00", "until": "16:00"}]}
    )
    days = farrowtide.sheets(room).days
    assert any("nobody by the file" in " ".join(day.on_duty) for day in days)
    assert not any(work.time == "00:00" for day in days for work in day.work)


def test_a_change_asked_for_wins_over_the_alternative(tmp_path):
    (tmp_path / "s.yaml").write_text("title: t\nalternatives:\n  a: {handling.day: 4}\n  b: {}\n", encoding="utf-8")
    done = invoke("protocol", str(tmp_path / "s.yaml"), "--alternative", "a", "--set", "handling.day=6")
    assert "Day 6 of the litter" in " ".join(done.stdout.split())


def test_sheets_say_whose_sows_they_show():
    room = scenario()
    assert "Example only" in farrowtide.sheets(room, days=[0]).herd
    blank = farrowtide.sheets(room, herd="blank", days=[0])
    assert {row.feed for row in blank.days[0].crates} == {BLANK}
    own = [{"parity": parity, "farrows_on_day": day} for parity, day in ((1, 3), (2, 4), (3, 4), (5, 5))]
    described = farrowtide.sheets(scenario(**{"herd.sows": own}), days=[0])
    assert "herd.sows" in described.herd
    assert "Example" not in described.herd
    assert [row.crate.parity for row in described.days[0].crates] == [1, 2, 3, 5]
    with pytest.raises(farrowtide.UserError, match=r"day 40: is not a day of the group \(-4 to 21"):
        farrowtide.sheets(room, herd="blank", days=[40])
    with pytest.raises(farrowtide.UserError, match="herd = 'mine'"):
        farrowtide.sheets(room, herd="mine")


def test_dates_stand_on_sheets_only_where_the_file_gives_the_start():
    assert farrowtide.sheets(scenario(), herd="blank", days=[0]).days[0].date == BLANK
    dated = farrowtide.sheets(scenario(start="2026-05-04"), herd="blank", days=[0]).days[0]
    assert (dated.weekday, dated.date) == ("Fri", "2026-05-08")


def test_an_audit_takes_at_most_20_minutes():
    fullest = scenario(
        **{"care.stand_up": ["10:00"], "fostering": {"kind": "fill_teats"}, "water.action_limit": "2 L/min"}
    )
    audit = farrowtide.sheets(fullest, herd="blank", parts=["audit"]).audit
    assert {"stand_up", "moves", "treated", "drinkers"} <= {look.name for look in audit}
    assert sum(look.minutes for look in audit) <= 20


def test_care_that_is_withheld_is_no_protocol():
    page = farrowtide.protocol(scenario(**{"care.kind": "watch_only"}))
    assert "For comparison only. Do not follow this in a room" in page.markdown
    assert "For comparison only. Do not follow this in a room" in page.html
    assert not farrowtide.protocol(scenario()).heading.for_comparison_only


def test_warnings_about_the_plan_stand_before_the_steps():
    late = scenario(**{"feeding.times": ["07:00", "22:00"]})
    assert any("22:00" in warning for warning in farrowtide.protocol(late).warnings)


def test_all_cautions_of_the_package_are_in_the_phrases():
    """Each subject of the one caution that every result carries is a caution beside the steps that it is about."""
    subjects = [
        "obstetrics",
        "pregnant",
        "asthma",
        "withdrawal",
        "euthanasia",
        "pain relief",
        "early weaning",
        "trained",
        "crushed",
        "fire",
        "burns",
        "drip",
        "chill",
        "room temperature",
        "working alone",
    ]
    said = " ".join(text for name, text in english().texts.items() if name.startswith("cautions.")).lower()
    for subject in subjects:
        assert subject in CAUTION.lower(), subject
        assert subject in said, subject


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"induction.kind": "single"}, "women who are or may be pregnant"),
        ({"room.sow_cooling": "drip"}, "no water on the piglets"),
        ({"attendance.night_people": 1}, "lone work"),
        ({"care.stand_up": ["10:00"]}, "trained people"),
        ({"fostering.kind": "by_size"}, "spread disease"),
        ({}, "Heat lamps: fire and burns"),
        ({}, "Prescription|prescribed"),
    ],
)
def test_a_step_that_can_hurt_has_its_caution(changes, words):
    assert re.search(words, farrowtide.protocol(scenario(**changes)).markdown)


HOSTILE = "<script>alert(1)</script> [x](javascript:alert(2)) | **b** `c` \N{RIGHT-TO-LEFT OVERRIDE}$x$"


class Elements(html.parser.HTMLParser):
    def __init__(self):
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attributes):
        self.found.append(tag)
        assert not any(name.startswith("on") for name, _ in attributes)


def test_hostile_text_stays_text(tmp_path):
    room = farrowtide.load(
        {
            "title": HOSTILE,
            "question": HOSTILE,
            "room": {"crates": 2},
            "alternatives": {HOSTILE: {"handling.day": 4}},
            "cases": {HOSTILE: {}},
        }
    )
    room = room.case(HOSTILE).alternative(HOSTILE)
    phrases = translated(tmp_path, lambda text: f"<img src=x onerror=alert(3)> {text}")
    given = {"language": phrases, "date": HOSTILE, "version": HOSTILE}
    for document in (farrowtide.protocol(room, **given), farrowtide.sheets(room, herd="blank", days=[0], **given)):
        seen = Elements()
        seen.feed(document.html)
        assert not {"script", "img", "a"} & set(seen.found)
        for text in (document.html, document.markdown):
            assert "\N{RIGHT-TO-LEFT OVERRIDE}" not in text
        assert "<script" not in document.markdown.replace("\\<script", "")
        assert "](" not in document.markdown.replace("\\](", "")


class Plain(policies.Handling):
    """All at once."""

    name = "own_handling"
    parameters = {"on_day": policies.Parameter(3, low=1, high=14, help="Day.")}  # noqa: RUF012

    def share_of_processing(self, view):
        return float(view.lactation_day == self.on_day)


def test_an_own_policy_is_named_and_left_to_be_put_in_words():
    room = farrowtide.load(
        {"title": "own", "room": {"crates": 2}, "handling": {"kind": "own_handling"}}, policies=[Plain]
    )
    document = farrowtide.protocol(room)
    step = next(step for chapter in document.chapters for step in chapter.steps if step.name == "own.handling")
    assert "own_handling" in step.do
    assert BLANK in step.do
    assert {"handling.kind", "handling.on_day"} <= set(step.keys)


def translated(folder, change, drop=(), add=None):
    """A file of phrases whose texts are changed, read back."""
    document = load_yaml("english.yaml")

    def mapped(node):
        if isinstance(node, dict):
            return {key: mapped(part) for key, part in node.items()}
        return [mapped(part) for part in node] if isinstance(node, list) else change(node)

    document = mapped(document)
    for *path, last in drop:
        node = document
        for key in path:
            node = node[key]
        del node[last]
    document |= add or {}
    file = folder / "phrases.yaml"
    file.write_text(json.dumps(document, indent=1, ensure_ascii=False), encoding="utf-8")  # JSON is YAML, too
    return read_phrases(file)


def test_another_language_has_the_same_steps_in_other_words(tmp_path):
    phrases = translated(tmp_path, lambda text: re.sub(r"\b[Ff]eed\b", "Futter", text))
    room = scenario()
    there, here = farrowtide.protocol(room, language=phrases), farrowtide.protocol(room)
    assert "Futter" in there.html
    assert "Futter" not in here.html
    assert {name: keys for name, (_, keys) in everything_in(there).items()} == {
        name: keys for name, (_, keys) in everything_in(here).items()
    }


def test_a_translated_file_needs_exactly_the_same_keys_and_placeholders(tmp_path):
    def change(text):
        return text.replace("{feeding.look}", "{feeding.lok}") if "{feeding.look}" in text else text

    with pytest.raises(FileError) as raised:
        translated(tmp_path, change, drop=[("units", "kg")], add={"chaptres": {"people": "x"}, "language": 3})
    told = str(raised.value)
    assert len(raised.value.mistakes) == 4
    assert "the phrase 'units.kg' is missing" in told
    assert re.search(
        r"phrases\.yaml:\d+:\d+: steps\.feeding\.drops_look\.when = .*placeholders.*\{feeding\.look\}", told
    )
    assert re.search(r"phrases\.yaml:\d+:\d+: chaptres\.people: is not a phrase", told)
    assert re.search(r"phrases\.yaml:\d+:\d+: language = 3: text is needed", told)


def test_every_scenario_that_ships_has_a_protocol():
    for file in sorted((ROOT / "scenarios").glob("[!i]*/*.yaml")):
        room = farrowtide.load(file)
        for name in room.alternatives or [None]:
            document = farrowtide.protocol(room.alternative(name) if name else room)
            assert {"feeding", "care", "farrowing"} <= {chapter.name for chapter in document.chapters}, (file, name)


@pytest.mark.parametrize("text", ["", "- a\n- b\n", "words\n"])
def test_what_is_no_file_of_phrases_is_one_mistake(tmp_path, text):
    file = tmp_path / "phrases.yaml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match="is not a file of phrases") as raised:
        read_phrases(file)
    assert len(raised.value.mistakes) == 1


def invoke(*arguments):
    return CliRunner().invoke(main, list(arguments))


def test_protocol_on_the_command_line(meals_file, tmp_path):
    arguments = ("protocol", str(meals_file), "--alternative", "3 hand feeds", "--case", "January")
    printed = invoke(*arguments)
    assert printed.exit_code == 0, printed.output
    assert printed.stdout == invoke(*arguments).stdout
    assert "`feeding.times`" in printed.stdout
    assert not re.search(r"20\d\d-\d\d-\d\d", printed.stdout.partition("Where each value")[0])
    dated = invoke(*arguments, "--date", "1 May", "--document-version", "2", "--out", str(tmp_path))
    assert dated.exit_code == 0, dated.output
    assert {file.name for file in tmp_path.iterdir()} == {"protocol.html", "protocol.md"}
    assert "1 May" in (tmp_path / "protocol.html").read_text(encoding="utf-8")
    data = json.loads(invoke(*arguments, "--json").stdout)
    assert data["caution"] == CAUTION
    assert (data["heading"]["alternative"], data["heading"]["case"]) == ("3 hand feeds", "January")
    assert all(step["keys"] for step in data["chapters"][2]["steps"])


def test_sheets_on_the_command_line(meals_file, tmp_path):
    arguments = ("sheets", str(meals_file), "--alternative", "3 hand feeds", "--set", "room.crates=3")
    page = invoke(*arguments, "--day", "-1", "--day", "2", "--part", "days", "--out", str(tmp_path))
    assert page.exit_code == 0, page.output
    assert (tmp_path / "sheets.html").read_text(encoding="utf-8").count('class="form crates"') == 2
    data = json.loads(invoke(*arguments, "--herd", "blank", "--json").stdout)
    assert len(data["cards"]) == 3
    wrong = invoke(*arguments, "--day", "99", "--json")
    assert wrong.exit_code == 2
    assert "is not a day of the group" in json.loads(wrong.stdout)["errors"][0]["problem"]


def test_the_english_phrases_are_the_template(meals_file, tmp_path):
    template = invoke("protocol", "--phrases")
    assert template.stdout == text_of("english.yaml")
    file = tmp_path / "mine.yaml"
    file.write_text(template.stdout, encoding="utf-8")
    assert invoke("protocol", str(meals_file), "--language", str(file)).exit_code == 0
    file.write_text(template.stdout.replace("  loading:", "  laoding:", 1), encoding="utf-8")
    wrong = invoke("protocol", str(meals_file), "--language", str(file))
    assert wrong.exit_code == 2
    assert "mine.yaml:" in wrong.stderr
