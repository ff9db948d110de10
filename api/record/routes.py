"""All routes of the record."""

from fastapi import APIRouter

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

router = APIRouter()
for one in (batches, runs, marks, jars, jar_vessels, lots, measures, transfers, graph, now, books):
    router.include_router(one.router)
