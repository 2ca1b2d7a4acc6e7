"""The error whose text is shown to the artist as it stands."""


class PlanError(ValueError):
    """A plan or a change that cannot be used; the text says what is wrong, where, and what to do."""


class StepError(PlanError):
    """A change that cannot be made to the plan as it is now."""


class NotThereError(StepError, KeyError):
    """A piece or part asked for by name that is not there (any more)."""

    def __str__(self) -> str:
        return str(self.args[0])
