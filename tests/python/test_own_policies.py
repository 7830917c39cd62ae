"""Policies written in Python: found by name, asked as the built-in ones are, and told off in words."""

# ruff: noqa: RUF012 (a policy's parameters are meant to stand in its class)
import re
import signal
import subprocess
import sys
from pathlib import Path

import click.testing
import pandas as pd
import pytest

import farrowtide
from farrowtide import policies
from farrowtide.commands.main import main
from farrowtide.policies import Parameter, TroughDecision
from farrowtide.scenarios.policies.loading import PolicyFile, classes

ROOT = Path(__file__).parents[2]
SMALL = {"room": {"crates": 5}, "title": "own policies"}


class StepUp(policies.Feeding):
    """The hand rule with its standard step-up allowance."""

    name = "own_hand"
    parameters = {
        "times": Parameter(["07:00", "15:00"], help="Feeds."),
        "start": Parameter(unit="kg/d", low=0, high=20, coefficient="sow.feeding_practice.step_up_start"),
        "step": Parameter(unit="kg/d", low=0, high=20, coefficient="sow.feeding_practice.step_up_step"),
        "most": Parameter(unit="kg/d", low=0, high=20, coefficient="sow.feeding_practice.step_up_most"),
        "first": Parameter(low=0, high=1, coefficient="sow.feeding_practice.farrowing_day_share"),
        "before": Parameter(unit="kg/d", low=0, high=20, coefficient="sow.feeding_practice.pre_farrow_allowance"),
    }

    def rounds(self):
        return self.times

    def decide(self, view):
        if view.round_h not in self.times:
            return None
        on_day = min(self.most, self.start + self.step * (max(view.day, 1) - 1))
        today = self.before if not view.farrowed else on_day if view.day > 0 else self.first * on_day
        return today / len(self.times)


class Together(policies.Loading):
    """Gilts together, each taught once on the day after loading."""

    name = "own_together"
    parameters = {"days": Parameter(4, low=2, high=10)}

    def days_before_due(self):
        return self.days

    def teach(self, view):
        return view.times_taught == 0


class Daily(policies.Water):
    """Every drinker every so many days."""

    name = "own_daily"
    parameters = {"every": Parameter(7, low=1, high=30), "limit": Parameter(0.0, unit="L/min", low=0, high=4)}

    def check_flow(self, view):
        return view.day % self.every == 0

    def action_limit_l_per_min(self):
        return self.limit


class Constant(policies.Temperature):
    """One set point throughout."""

    name = "own_constant"
    parameters = {"at": Parameter(21.0, unit="degC", low=10, high=32)}

    def set_point_deg_c(self, view):
        return self.at


class Rounds(policies.Attendance):
    """Rounds, help after a wait, more patient after an exam."""

    name = "own_rounds"

    def round_every_min(self):
        return 30

    def help_birth(self, view):
        return view.since_last_birth_min >= (45 if view.exams == 0 else 60)

    def care_intensity(self):
        return 0.4


class Watch(policies.Care):
    """Looks, and treats nobody."""

    name = "own_watch"

    def look_for(self, view):
        return ["udder", "legs"] if 1 <= view.lactation_day <= 3 else ()

    def treat(self, view):
        return False


class Once(policies.Handling):
    """All in one visit."""

    name = "own_once"
    parameters = {"day": Parameter(3, low=1, high=14)}

    def share_of_processing(self, view):
        return 1 if view.lactation_day == self.day else 0


TWINS = [
    (StepUp, "feeding", {"kind": "own_hand"}, {"kind": "hand"}),
    (Together, "loading", {"kind": "own_together", "days": 3}, {"kind": "gilts_together", "days_before_due": 3}),
    (
        Daily,
        "water",
        {"kind": "own_daily", "every": 2, "limit": "0.8 L/min"},
        {"kind": "every_drinker", "every": 2, "action_limit": "0.8 L/min"},
    ),
    (Constant, "temperature", {"kind": "own_constant", "at": "72 degF"}, {"kind": "constant", "set_point": "72 degF"}),
    (
        Rounds,
        "attendance",
        {"kind": "own_rounds"},
        {"kind": "rounds", "round_every": 30, "help_after": 45, "help_again_after": 60, "care_intensity": 0.4},
    ),
    (
        Watch,
        "care",
        {"kind": "own_watch"},
        {"kind": "watch_only", "checks": ["udder", "legs"], "until_day": 3},
    ),
    (Once, "handling", {"kind": "own_once", "day": 5}, {"kind": "bundled", "day": 5}),
]


def tables_of(family, keys, own=(), threads=1, replications=3):
    scenario = farrowtide.load(SMALL | {family: keys}, policies=own)
    return farrowtide.run(scenario, replications=replications, seed=4, threads=threads).tables


@pytest.mark.parametrize(("own", "family", "keys", "built_in"), TWINS, ids=[twin[1] for twin in TWINS])
def test_the_same_rule_in_python_gives_the_same_rows(own, family, keys, built_in):
    ours, theirs = tables_of(family, keys, [own]), tables_of(family, built_in)
    assert set(ours) == set(theirs)
    for name in ours:
        pd.testing.assert_frame_equal(ours[name], theirs[name], check_exact=True)


def test_any_number_of_threads_gives_the_same_rows():
    one, four = (tables_of("feeding", {"kind": "own_hand"}, [StepUp], threads, 6) for threads in (1, 4))
    for name in one:
        pd.testing.assert_frame_equal(one[name], four[name], check_exact=True)


def examples():
    page = (ROOT / "libsim/policy/README.md").read_text(encoding="utf-8")
    return re.findall(r"^```python\n(.*?)^```", page, re.MULTILINE | re.DOTALL)


def test_the_examples_of_the_page_run_together_and_are_named_in_the_provenance(tmp_path):
    file = tmp_path / "rules.py"
    file.write_text("\n\n".join(examples()), encoding="utf-8")
    own = classes([PolicyFile(str(file), file.read_text(encoding="utf-8"))])
    assert sorted(policy.family for policy in own) == sorted(
        ["loading", "feeding", "water", "temperature", "attendance", "care", "fostering", "handling"]
    )
    scenario = farrowtide.load(SMALL | {policy.family: {"kind": policy.name} for policy in own}, policies=[file])
    result = farrowtide.run(scenario, replications=8, seed=2)
    assert {entry["name"] for entry in result.provenance["own_policies"]} == {policy.name for policy in own}
    assert all(len(entry["hash"]) == 16 for entry in result.provenance["own_policies"])
    assert result.sows["piglets_moved_in"].sum() > 0
    moves = result.piglets[result.piglets["moves"] > 0]
    assert (moves["moves"] == 1).mean() > 0.9
    assert "own policy" in scenario.policies["handling"]


def test_what_a_trough_check_decides_is_done():
    class Halving(policies.Feeding):
        """Everybody 6 kg until the first check, 2 kg after."""

        name = "halving"

        def rounds(self):
            return [8.0]

        def decide(self, view):
            return view.own_allowance_kg_per_day or 6.0

        def checks_troughs(self):
            return True

        def at_trough_check(self, view):
            return TroughDecision(allowance_kg_per_day=2.0) if view.day >= 3 else None

    days = tables_of("feeding", {"kind": "halving"}, [Halving])["sow_days"]
    assert set(days.loc[days["day"].between(4, 15), "offered_kg"].round(9)) == {2.0}


def test_a_policy_may_leave_stale_feed_in_the_troughs():
    class Careless(policies.Feeding):
        """More than any sow eats, and nobody cleans."""

        name = "careless"

        def rounds(self):
            return [8.0]

        def decide(self, view):
            return 8.0

        def removes_stale_feed(self):
            return False

    class Careful(Careless):
        """The same, but stale feed is removed."""

        name = "careful"

        def removes_stale_feed(self):
            return True

    removed_kg = {
        policy.name: tables_of("feeding", {"kind": policy.name}, [policy])["sow_days"]["removed_kg"].sum()
        for policy in (Careless, Careful)
    }
    assert removed_kg["careless"] == 0
    assert removed_kg["careful"] > 10


def test_compare_takes_a_file_of_policies_on_the_command_line(tmp_path):
    (tmp_path / "rules.py").write_text(examples()[0], encoding="utf-8")
    (tmp_path / "s.yaml").write_text(
        "title: t\nroom: {crates: 4}\nalternatives:\n  hand: {feeding: {kind: hand}}\n"
        "  own: {feeding: {kind: doubling, max: 5 kg/d}}\n",
        encoding="utf-8",
    )
    command = [sys.executable, "-m", "farrowtide", "compare", "s.yaml", "--policies", "rules.py", "-n", "2", "--json"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert '"command": "farrowtide compare s.yaml --policies rules.py' in done.stdout
    assert '"file": "rules.py"' in done.stdout
    (tmp_path / "s.yaml").write_text("title: t\nfeeding: {kind: doubling, max: 50 kg/d}\n", encoding="utf-8")
    command = [sys.executable, "-m", "farrowtide", "check", "s.yaml", "--policies", "rules.py"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "s.yaml:2:32: feeding.max = 50 kg/d: is outside the range (1 to 12 kg/d)" in done.stderr


BAD = {
    "an_exception": ("    def decide(self, view):\n        return 1 / 0\n", r"rules\.py:\d+: Bad\.decide: ZeroDivisionError"),
    "no_return": ("    def decide(self, view):\n        view.day\n    def wet(self): pass\n", r"Bad\.wet returned None; expected True or"),
    "a_text": ("    def decide(self, view):\n        return 'much'\n", r"Bad\.decide returned 'much'; expected a number, 0 to 20 kg"),
    "too_much": ("    def decide(self, view):\n        return 99\n", r"Bad\.decide returned 99; expected a number, 0 to 20 kg"),
    "not_a_number": ("    def decide(self, view):\n        return float('nan')\n", r"Bad\.decide returned nan"),
    "memory": ("    def decide(self, view):\n        self.seen = 1\n", r"policies are stateless: 'seen' cannot be set"),
    "a_changed_view": ("    def decide(self, view):\n        view.day = 3\n", r"Bad\.decide: AttributeError"),
    "nothing_decided": ("    pass\n", r"rules\.py: Bad: does not define decide"),
    "a_taken_name": ("    name = 'hand'\n    def decide(self, view):\n        return 1\n", r"feeding already has a policy called 'hand'"),
    "syntax": ("    def decide(self, view) return 1\n", r"rules\.py:\d+: SyntaxError"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_a_mistake_in_a_policy_is_the_users_and_told_with_its_place(case, tmp_path):
    body, message = BAD[case]
    (tmp_path / "rules.py").write_text(
        "from farrowtide.policies import *\n\n\nclass Bad(Feeding):\n    name = 'bad'\n"
        f"    def rounds(self):\n        return ['07:00']\n{body}",
        encoding="utf-8",
    )
    with pytest.raises(farrowtide.UserError, match=message):
        tables_of("feeding", {"kind": "bad"}, [tmp_path / "rules.py"], threads=2)


LOADED = {
    "class Own(BaseException): pass\nraise Own('\\x1b[31m')": r"rules\.py:2: Own: \\u001b\[31m",
    "raise GeneratorExit": r"rules\.py:1: GeneratorExit",
    "import sys\nsys.exit(0)": r"rules\.py:2: SystemExit: 0",
    "class Own(Exception):\n    def __str__(self): return 3\nraise Own": r"rules\.py:3: Own: \(no text: TypeError\)",
    "class Own(Exception):\n    def __str__(self): raise SystemExit\nraise Own": r"rules\.py:3: Own: \(no text: System",
}


@pytest.mark.parametrize("text", LOADED)
def test_whatever_a_file_of_policies_raises_is_told_with_its_place(text, tmp_path):
    (tmp_path / "rules.py").write_text(text, encoding="utf-8")
    (tmp_path / "s.yaml").write_text("title: t\n")
    loaded = set(sys.modules)
    done = click.testing.CliRunner().invoke(
        main, ["check", str(tmp_path / "s.yaml"), "--policies", str(tmp_path / "rules.py")]
    )
    assert done.exit_code == 2
    assert re.search(LOADED[text], done.stderr), done.stderr
    assert not [name for name in set(sys.modules) - loaded if name.startswith("farrowtide_own")]


def test_ctrl_c_while_policies_are_loaded_is_no_mistake(tmp_path):
    (tmp_path / "rules.py").write_text("raise KeyboardInterrupt")
    loaded = set(sys.modules)
    with pytest.raises(KeyboardInterrupt):
        farrowtide.load(SMALL, policies=[tmp_path / "rules.py"])
    assert not [name for name in set(sys.modules) - loaded if name.startswith("farrowtide_own")]


MALFORMED = {
    "name = 3": "needs a `name` of lower-case letters",
    "help = 3": "`help` must be a text",
    "help = '\\ud800'": "`help` must be a text",
    "family = 'water'": "is not a policy",
    "parameters = {3: Parameter(1.0)}": "a parameter cannot be called 3",
    "parameters = {'a': Parameter(1.0, low='a', high=[])}": "`low` and `high` must be numbers",
    "parameters = {'a': Parameter(1, high=2**31)}": r"must lie between -\(2\*\*31\)",
    "parameters = {'a': Parameter(10**30)}": r"must lie between -\(2\*\*31\)",
    "parameters = {'a': Parameter(float('nan'))}": "the default is outside the range",
    "parameters = {'a': Parameter(1.0, unit=3)}": "`unit`, `help` and `coefficient` must be texts",
    "parameters = {'a': Parameter(coefficient='sow.feeding_practice.step_up_start', unit='degC')}": "in 'kg/d', not in 'degC'",
    "parameters = {'a': Parameter(coefficient='staff.rank.order')}": "is a table, not a number",
    "parameters = {'a': Parameter(coefficient='no.such')}": r"there is no coefficient 'no\.such'",
    "parameters = {'a': Parameter('x', options=3)}": "`options` must be a list of texts",
    "parameters = {'a': Parameter('x', options=['y'])}": "the default is none of its `options`",
    "parameters = {'a': Parameter([3])}": "`default` must be a list of texts",
    "parameters = {'a': Parameter(['25:00'])}": "the default must be rising times of day",
    "parameters = {'a': Parameter(['15:00', '07:00'])}": "the default must be rising times of day",
    "parameters = {'a': Parameter(3j)}": "the default must be a number, a bool, a text",
    "def rounds(self): return itertools.repeat('07:00')": "expected rising clock times",
    "def rounds(self): return itertools.count(0, 1e-3)": "expected at most 1,440 rising clock times",
    "def check(self): raise Silent": r"feeding.*\(no text: TypeError\)",
    "def check(self): raise SystemExit(0)": r"rules\.py:\d+: Bad\.check: SystemExit: 0",
    "def wet(self): raise Silent": r"rules\.py:\d+: Bad\.wet: Silent: \(no text: TypeError\)",
    "def wet(self): return Silent()": r"Bad\.wet returned \(no text: TypeError\); expected True or False",
    "def decide(self, view): raise Silent": r"rules\.py:\d+: Bad\.decide: Silent: \(no text: TypeError\)",
    "def decide(self, view): raise SystemExit(0)": r"rules\.py:\d+: Bad\.decide: SystemExit: 0",
}


@pytest.mark.parametrize("text", MALFORMED)
def test_a_malformed_policy_is_a_user_error(text, tmp_path):
    (tmp_path / "rules.py").write_text(
        "import itertools\nfrom farrowtide.policies import *\n\n\nclass Silent(ValueError):\n"
        "    def __str__(self): return 3\n    __repr__ = __str__\n\n\nclass Bad(Feeding):\n    name = 'bad'\n"
        "    def rounds(self): return ['07:00']\n    def decide(self, view): return 1\n"
        f"    {text}\n",
        encoding="utf-8",
    )
    with pytest.raises(farrowtide.UserError, match=MALFORMED[text]):
        tables_of("feeding", {"kind": "bad"}, [tmp_path / "rules.py"], threads=1)


def test_parameters_that_do_not_fit_each_other_are_a_mistake_of_the_scenario():
    class Range(Constant):
        """Two ends."""

        name = "own_range"
        parameters = {"low": Parameter(18.0, unit="degC"), "high": Parameter(20.0, unit="degC")}

        def check(self):
            if self.low > self.high:
                raise ValueError("has its low end above its high end")

        def set_point_deg_c(self, view):
            return self.low

    with pytest.raises(farrowtide.ScenarioError, match=r"temperature.*has its low end above its high end"):
        farrowtide.load(SMALL | {"temperature": {"kind": "own_range", "low": 22}}, policies=[Range])


@pytest.mark.parametrize(
    ("moves", "what"), [([(0, 0)], "its own litter"), ([(0, 99)], "no such litter"), ([(0, 1)] * 2, "twice")]
)
def test_moves_that_cannot_be_made_are_refused(moves, what):
    class Bad(policies.Fostering):
        """Impossible moves."""

        name = "bad_moves"

        def times(self):
            return ["10:00"]

        def plan(self, view):
            return moves if len(view.litters) > 2 and view.piglets else []

    with pytest.raises(farrowtide.UserError, match="each piglet once"):
        tables_of("fostering", {"kind": "bad_moves"}, [Bad])


def test_a_care_policy_sees_what_was_eaten_and_drunk_against_what_is_expected():
    seen = []

    class Looking(policies.Care):
        """Only looks."""

        name = "looking"

        def look_for(self, view):
            seen.append(view)
            return ()

        def treat(self, view):
            return False

    tables_of("care", {"kind": "looking"}, [Looking])
    judged = [view for view in seen if view.lactation_day >= 2]
    assert len(judged) > 50
    assert all(view.expected_kg > 0 and view.expected_l > 0 for view in judged)
    assert 0.6 < sum(view.eaten_kg for view in judged) / sum(view.expected_kg for view in judged) < 1.2
    assert 0.6 < sum(view.drunk_l for view in judged) / sum(view.expected_l for view in judged) < 1.2
    assert all(view.trough_left_kg >= 0 for view in judged)


def test_a_view_can_be_made_by_hand_and_says_what_it_holds():
    view = policies.CareView(lactation_day=2, seen={"udder"}, rectal_deg_c=39.9)
    assert view.seen == {"udder"}
    assert "rectal_deg_c=39.9" in repr(view)
    with pytest.raises(TypeError, match="lactation_dya"):
        policies.CareView(lactation_dya=2)
    with pytest.raises(farrowtide.UserError, match="no sign is called 'cough'"):
        policies.CareView(seen={"cough"})


def test_ctrl_c_keeps_the_rooms_that_are_done():
    scenario = farrowtide.load(SMALL | {"feeding": {"kind": "own_hand"}}, policies=[StepUp])

    def stop(done):
        if done:
            raise KeyboardInterrupt

    with pytest.raises(farrowtide.Interrupted) as caught:
        farrowtide.run(scenario, replications=2000, seed=4, threads=2, progress=stop)
    done = caught.value.finished
    assert 0 < done.replications < 2000
    whole = farrowtide.run(scenario, replications=done.replications, seed=4)
    pd.testing.assert_frame_equal(done.sows, whole.sows, check_exact=True)


def test_ctrl_c_stops_a_policy_that_never_answers(tmp_path):
    policy = tmp_path / "policy.py"
    policy.write_text(
        "from farrowtide.policies import Handling\n"
        "class Endless(Handling):\n"
        "    name, help = 'endless', 'Never answers.'\n"
        "    def share_of_processing(self, view):\n"
        "        print('asked', flush=True)\n"
        "        while True:\n"
        "            pass\n",
        encoding="utf-8",
    )
    file = tmp_path / "endless.yaml"
    file.write_text("title: Endless\nroom: {crates: 3}\nhandling: {kind: endless}\n", encoding="utf-8")
    command = [sys.executable, "-m", "farrowtide", "run", str(file), "--policies", str(policy)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout.readline() == "asked\n"
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=60)
    assert process.returncode == 130
    assert said.startswith("interrupted before any round of rooms was complete; nothing is kept: run it again")
