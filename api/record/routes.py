"""All routes of the record."""

from fastapi import APIRouter

from api.record import batches, jar_vessels, jars, marks, now, runs

router = APIRouter()
for one in (batches, runs, marks, jars, jar_vessels, now):
    router.include_router(one.router)
