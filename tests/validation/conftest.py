"""What the model makes of each published row stands at the end of the tests' log, whatever worker found it."""


def pytest_terminal_summary(terminalreporter):
    reports = [report for outcome in ("passed", "failed") for report in terminalreporter.getreports(outcome)]
    for report in sorted(reports, key=lambda report: report.nodeid):
        for name, said in report.user_properties:
            if name == "verdicts":
                terminalreporter.write_line(f"\n{said}")
