"""One error root for the whole house; each leaf is also the built-in it is."""


class WormtubError(Exception):
    """Root of every error that carries a sentence meant for a person."""


class OutOfRangeError(WormtubError, ValueError):
    """A quantity lies outside the range its declaration allows."""

    def __init__(self, sentence: str, *, quantity: str) -> None:
        super().__init__(sentence)
        self.quantity = quantity


class UnknownCalculationError(WormtubError, LookupError):
    """No calculation of that name is offered."""


class QuantityError(WormtubError, TypeError):
    """A quantity is missing, unknown to the calculation, or not what it takes."""

    def __init__(self, sentence: str, *, quantity: str) -> None:
        super().__init__(sentence)
        self.quantity = quantity
