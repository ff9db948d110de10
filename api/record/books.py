"""The routes of the books: entries of stages, balance, stock, labels, checklist, proposals."""

from fastapi import APIRouter

from api.record import balance, checklist, entries, labels, proofing, proposals, stages, stock

router = APIRouter()
for one in (entries, stages, balance, stock, labels, checklist, proposals, proofing):
    router.include_router(one.router)
