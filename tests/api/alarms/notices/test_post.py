"""The postman for real: Apprise in its own process, against a receiver on the loopback."""

import socket
import subprocess
import sys
from queue import SimpleQueue

import pytest

from api.alarms.notices import post as posts
from api.alarms.notices.errors import PostError, TargetError
from api.alarms.notices.letters import Answer, Letter, Outcome
from api.alarms.notices.post import Post


@pytest.fixture
def post():
    made = Post(patience_s=20)
    yield made
    made.close()


@pytest.fixture
def deaf():
    """An address where connections are taken and never answered."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        yield f"json://127.0.0.1:{listening.getsockname()[1]}/bell"


def test_a_letter_arrives_while_a_deaf_target_is_waited_for(post, bell, deaf):
    answers = SimpleQueue()
    post.send(Letter("one", deaf, "T", "B"), answers.put)
    post.send(Letter("two", bell.address, "HIGH: Coolant", "Heat off.", urgent=True), answers.put)
    assert answers.get(timeout=20) == Answer("two", Outcome.TAKEN)
    assert bell.heard == [("HIGH: Coolant", "Heat off.")]
    slow = answers.get(timeout=20)
    assert slow == Answer("one", Outcome.UNSURE, "The target did not answer in time.")


def test_a_target_that_refuses_and_one_that_is_not_there(post, bell, free_port):
    bell.status = 503
    refused = post.ask(Letter("one", bell.address, "T", "B"))
    assert refused.outcome is Outcome.NOT_TAKEN
    assert refused.says == "The target refused the notice (answer 503)."
    gone = post.ask(Letter("two", f"json://127.0.0.1:{free_port}/", "T", "B"))
    assert gone == Answer("two", Outcome.NOT_TAKEN, "The target could not be reached.")


def test_addresses_are_judged_without_sending_and_without_being_repeated(post, bell):
    post.check(bell.address)
    with pytest.raises(TargetError, match="none that a notice can be sent to; write it as Apprise"):
        post.check("pigeon://secret@loft")
    assert bell.heard == []


def test_a_postman_that_dies_answers_for_its_letters_and_is_replaced(post, bell, deaf):
    answers = SimpleQueue()
    post.send(Letter("one", deaf, "T", "B"), answers.put)
    post._postman.kill()
    assert answers.get(timeout=20) == Answer("one", Outcome.UNSURE, posts.GONE)
    assert post.ask(Letter("two", bell.address, "T", "B")).outcome is Outcome.TAKEN


def test_a_postman_that_is_not_understood_is_replaced(post, bell, monkeypatch):
    monkeypatch.setattr(posts, "MODULE", "this")  # it prints, and no answers
    said = post.ask(Letter("one", bell.address, "T", "B"))
    assert said == Answer("one", Outcome.UNSURE, posts.GONE)
    monkeypatch.undo()
    assert post.ask(Letter("two", bell.address, "T", "B")).outcome is Outcome.TAKEN


def test_what_a_targets_own_code_prints_is_no_answer():
    program = "from api.alarms.notices.postman import main; main(); print('sent!')"
    said = subprocess.run(
        [sys.executable, "-c", program], input=b"", capture_output=True, check=True, cwd=posts.ROOT
    )
    assert (said.stdout, said.stderr) == (b"", b"sent!\n")


def test_patience_ends(deaf):
    post = Post(patience_s=0.05)
    said = post.ask(Letter("one", deaf, "T", "B"))
    assert said == Answer("one", Outcome.UNSURE, "The target did not answer within 0.05 s.")
    post.close()


def test_no_postman_can_be_had(monkeypatch, post):
    def no_memory(*_words, **_options):
        raise OSError(12, "Cannot allocate memory")

    monkeypatch.setattr(subprocess, "Popen", no_memory)
    with pytest.raises(PostError, match=r"cannot be started \(Cannot allocate memory\); free some"):
        post.send(Letter("one", "json://127.0.0.1/", "T", "B"), lambda _: None)


def test_the_postman_goes_home_and_comes_back(bell, until):
    post = Post(home_after_s=0.1)
    assert post.ask(Letter("one", bell.address, "T", "B")).outcome is Outcome.TAKEN
    until(lambda: post._postman is None, says="the postman's way home")
    assert post.ask(Letter("two", bell.address, "T", "B")).outcome is Outcome.TAKEN
    post.close()


def test_the_service_never_loads_apprise():
    program = "import sys, api.app; print(sorted(sys.modules.keys() & {'apprise', 'gpiozero'}))"
    said = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=posts.ROOT
    )
    assert said.stdout.strip() == "[]"
