"""All routes of the reviews."""

from fastapi import APIRouter

from api.imports import routes as imports
from api.reports import routes as reports
from api.reviews import batches, compare, references, runs, trends

router = APIRouter(prefix="/reviews")
for one in (reports, imports, runs, batches, compare, references, trends):
    router.include_router(one.router)
