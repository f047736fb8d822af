"""Who may come in: a learner by class word, name and PIN, the trainer by a password; ten wrong words have to wait."""

from __future__ import annotations

import threading
from dataclasses import dataclass

from simulator.classroom.people_and_pins import People, Person, checked_name
from simulator.classroom.secret_words import checked_pin, hashed, is_secret, same_word
from simulator.classroom.waiting import Waiting
from simulator.errors import InputError, RefusedAct
from simulator.texts import text


@dataclass(frozen=True)
class Typed:
    """What somebody typed at the door, and the address it came from."""

    name: str = ""
    word: str = ""
    pin: str = ""
    again: str = ""
    address: str = ""


class Door:
    """Judges what is typed at the log-in.

    Parameters
    ----------
    people : the list of the class.
    class_word : the word of the class.
    trainer : hash of the trainer's password.
    waiting : counts wrong words.
    """

    def __init__(self, people: People, class_word: str, trainer: str, waiting: Waiting | None = None) -> None:
        self.people, self._class_word, self._trainer = people, class_word, trainer
        self._waiting = waiting or Waiting()
        self._one = threading.Lock()  # hashes are worked out beside the hub's loop, one after another

    def learner(self, typed: Typed) -> Person:
        """The learner who may come in; a new name is added with the PIN that was typed twice.

        Parameters
        ----------
        typed : name, class word, PIN, the PIN again where the name is new.

        Raises
        ------
        RefusedAct : with the sentence for the page. Of a name nothing is told before the class word was right.
        OSError : the list cannot be written.
        """
        with self._one:
            return self._learner(typed)

    def _learner(self, typed: Typed) -> Person:
        from_here = f"word {typed.address}"
        self._no_wait(from_here)
        if not same_word(typed.word, self._class_word):
            self._wrong(from_here, "classroom.wrong_word")
        try:
            name = checked_name(typed.name)
        except InputError as error:
            raise RefusedAct("bad_name", error.what + ".") from error
        person = self.people.named(name)
        if person is None:
            return self._new(name, typed)
        if not person.pin:
            return self.people.set_pin(person.account, hashed(self._twice(typed)))
        of_name = f"pin {person.account}"
        self._no_wait(of_name)
        if not is_secret(typed.pin, person.pin):
            self._wrong(of_name, "classroom.wrong_pin")
        self._waiting.right(from_here)
        self._waiting.right(of_name)
        return person

    def trainer(self, typed: Typed) -> None:
        """Let the trainer in.

        Parameters
        ----------
        typed : the password as ``word``.

        Raises
        ------
        RefusedAct : it is not the password, or has to wait.
        """
        from_here = f"trainer {typed.address}"
        with self._one:
            self._no_wait(from_here)
            if not is_secret(typed.word, self._trainer):
                self._wrong(from_here, "classroom.wrong_password")
            self._waiting.right(from_here)

    def reset_pin(self, account: str) -> Person:
        """Let a learner's next log-in set a new PIN, at once.

        Parameters
        ----------
        account : of the learner.

        Raises
        ------
        InputError : there is no such account.
        OSError : the list cannot be written.
        """
        with self._one:
            person = self.people.set_pin(account, "")
            self._waiting.right(f"pin {account}")
        return person

    def remove(self, account: str) -> None:
        """Take a learner off the list for good.

        Parameters
        ----------
        account : of the learner.

        Raises
        ------
        InputError : there is no such account.
        OSError : the list cannot be written.
        """
        with self._one:
            self.people.remove(account)
            self._waiting.right(f"pin {account}")

    def _new(self, name: str, typed: Typed) -> Person:
        if not typed.again:
            raise RefusedAct("new_name", text("classroom.new_name", name=name))
        pin = hashed(self._twice(typed))
        self._waiting.right(f"word {typed.address}")
        return self.people.add(name, pin)

    def _twice(self, typed: Typed) -> str:
        if not typed.again:
            raise RefusedAct("new_pin", text("classroom.new_pin"))
        try:
            return checked_pin(typed.pin, typed.again)
        except InputError as error:
            raise RefusedAct("bad_pin", error.what + ".") from error

    def _no_wait(self, who: str) -> None:
        left = self._waiting.left(who)
        if left > 0:
            raise RefusedAct("wait", text("classroom.wait", n=max(1, round(left))))

    def _wrong(self, who: str, sentence: str) -> None:
        self._waiting.wrong(who)
        left = self._waiting.left(who)
        said = text(sentence)
        if left > 0:
            said += " " + text("classroom.wait", n=max(1, round(left)))
        raise RefusedAct("wrong", said)
