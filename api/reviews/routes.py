"""All routes of the reviews."""

from fastapi import APIRouter

from api.reviews import runs

router = APIRouter(prefix="/reviews")
for one in (runs,):
    router.include_router(one.router)
