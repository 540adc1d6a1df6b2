"""Life cycles: the states of a record, and one table of all transitions.

Transitions not in the table are refused; the refusal gives the current state and the possible
actions, so that the second of two concurrent users learns what the first one did.
"""

from __future__ import annotations

from collections.abc import Mapping

from service.domain.errors import Conflict
from service.domain.value import dataclass

DONE: Mapping[str, str] = {
    "issue": "issued",
    "accept": "accepted",
    "decline": "declined",
    "withdraw": "withdrawn",
    "revise": "revised",
    "start": "started",
    "finish": "finished",
    "spoil": "spoiled",
    "commit": "committed",
    "undo": "undone",
    "cancel": "cancelled",
    "discard": "discarded",
    "move": "moved",
    "shelve": "put on the shelf",
    "collect": "collected",
}
"""The actions that can be requested, and their past participles in messages."""
_READS = {**DONE, "work": "worked on"}


class WrongState(Conflict):
    """The action is not possible in the record's current state."""

    code = "wrong_state"


@dataclass(frozen=True, slots=True)
class Life:
    """The transition table of one kind of record: state, action, next state.

    Actions that no user requests (such as expiry) are not listed as possible.
    """

    noun: str
    moves: Mapping[str, Mapping[str, str]]

    @property
    def states(self) -> tuple[str, ...]:
        """Every state, in the order of the table."""
        return tuple(self.moves)

    def possible(self, state: str) -> tuple[str, ...]:
        """Return the actions that can be requested in this state."""
        return tuple(action for action in self.moves[state] if action in DONE)

    def after(self, state: str, action: str, name: str = "") -> str:
        """Return the state that an action leads to.

        Args:
            state: the present one.
            action: the requested action.
            name: the record's name in a refusal, such as Q100014.

        Raises:
            WrongState: the table has no such transition.
        """
        found = self.moves[state].get(action)
        if found is not None:
            return found
        possible = self.possible(state)
        asked = " or ".join(DONE[each] for each in possible)
        which = f"{self.noun} {name}".strip()
        rest = f"it can be {asked}" if asked else "nothing more can be done with it"
        raise WrongState(
            f"{which} is {state.replace('_', ' ')} and cannot be {_READS[action]}; {rest}",
            facts={"state": state, "action": action, "possible": " ".join(possible)},
        )
