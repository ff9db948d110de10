"""The routes of the books: entries of stages, balance, stock, labels, checklist, proposals."""

from api.record import balance, checklist, entries, labels, proofing, proposals, stages, stock
from api.routing import Router

router = Router()
for one in (entries, stages, balance, stock, labels, checklist, proposals, proofing):
    router.take(one.router)
