"""What is being done is said on a terminal, over its own line, and nowhere else."""

from reportgen.cli.progress import Progress, Stage


def test_on_a_terminal(capsys, terminal):
    terminal("stderr")
    with Stage() as stage:
        stage.tell("building the pages")
        stage.tell("signing")
    assert capsys.readouterr().err == "\rbuilding the pages ...\x1b[K\rsigning ...\x1b[K\r\x1b[K"


def test_in_a_pipe(capsys):
    with Stage() as stage:
        stage.tell("building the pages")
    assert capsys.readouterr() == ("", "")


def test_a_draft_says_what_it_does(run, terminal):
    terminal("stderr")
    code, out, err = run("draft", "day.yaml", "-o", "draft.pdf")
    assert code == 0
    assert err == "\rbuilding the pages ...\x1b[K\r\x1b[K"
    assert out == (
        "draft.pdf: SL-1-001 revision 0, draft, 3 pages\n"
        "Conforms: 1 of 1 inspected areas may be released; A-2 not inspected.\n"
    )


def test_a_bar_after_the_first_second(capsys, terminal, monkeypatch):
    terminal("stderr")
    clock = iter([0.0, 0.5, 2.0, 2.05, 2.06])
    monkeypatch.setattr("reportgen.cli.progress.time.monotonic", lambda: next(clock))
    with Progress("verified") as progress:
        progress(1, 4)
        progress(2, 4)
        progress(3, 4)
        progress(4, 4)
    assert capsys.readouterr().err == (
        "\rverified [###############...............] 2 of 4, 1.0 a second\x1b[K"
        "\rverified [##############################] 4 of 4, 1.9 a second\x1b[K"
        "\r\x1b[K"
    )
