"""What the importing process answers: on exit code 0 the run, on 2 what was wrong."""

from typing import Final

from pydantic import BaseModel

from api.errors import Problem

REFUSED: Final = 2


class Refused(BaseModel):
    """An order that was refused, and why, as the service is to answer it."""

    status: int
    error: Problem
