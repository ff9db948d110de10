"""All routes of the reviews."""

from api.imports import routes as imports
from api.reports import routes as reports
from api.reviews import batches, compare, references, runs, trends
from api.routing import Router

router = Router(prefix="/reviews")
for one in (reports, imports, runs, batches, compare, references, trends):
    router.take(one.router)
