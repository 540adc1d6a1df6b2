"""The life of a thing: its states, and one table of every way from one state to the next.

What the table does not name is refused, and the refusal says what state the thing is in and what
could be done with it instead, so that whoever pressed second knows what the first one did.
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
}
"""What can be asked for, and how it reads once it is done."""
_READS = {**DONE, "work": "worked on"}


class WrongState(Conflict):
    """Something was asked of a thing that is in no state for it."""

    code = "wrong_state"


@dataclass(frozen=True, slots=True)
class Life:
    """The table of one kind of thing: state, action, next state.

    Actions that nobody asks for (a quote expires by itself) are left out of what could be done.
    """

    thing: str
    moves: Mapping[str, Mapping[str, str]]

    @property
    def states(self) -> tuple[str, ...]:
        """Every state, in the order of the table."""
        return tuple(self.moves)

    def possible(self, state: str) -> tuple[str, ...]:
        """What can be asked for in this state."""
        return tuple(action for action in self.moves[state] if action in DONE)

    def after(self, state: str, action: str, name: str = "") -> str:
        """The state that an action leads to.

        Args:
            state: the present one.
            action: what is asked for.
            name: what this thing is called in a refusal: Q100014.

        Raises:
            WrongState: the table has no such way.
        """
        found = self.moves[state].get(action)
        if found is not None:
            return found
        possible = self.possible(state)
        asked = " or ".join(DONE[each] for each in possible)
        which = f"{self.thing} {name}".strip()
        rest = f"it can be {asked}" if asked else "nothing more can be done with it"
        raise WrongState(
            f"{which} is {state.replace('_', ' ')} and cannot be {_READS[action]}; {rest}",
            facts={"state": state, "action": action, "possible": " ".join(possible)},
        )
