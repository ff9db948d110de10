"""All routes of the record."""

from api.record import (
    batches,
    books,
    graph,
    jar_vessels,
    jars,
    lots,
    marks,
    measures,
    now,
    runs,
    transfers,
)
from api.routing import Router

router = Router()
for one in (batches, runs, marks, jars, jar_vessels, lots, measures, transfers, graph, now, books):
    router.take(one.router)
