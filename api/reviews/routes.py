"""All routes of the reviews."""

from fastapi import APIRouter

from api.reviews import batches, compare, references, runs

router = APIRouter(prefix="/reviews")
for one in (runs, batches, compare, references):
    router.include_router(one.router)
