"""The one exception a person is ever shown: a refusal, in one sentence."""


class Refusal(Exception):
    """Something could not be done; `str()` is one sentence for the person at the keyboard.

    The sentence says what happened, what was kept, and what to do next.
    """
