"""Run by Alembic: works on the connection it is given, in that connection's transaction."""

from alembic import context

import logger.store.alarm_tables
import logger.store.door_tables
import logger.store.record_tables
import logger.store.scan_tables  # noqa: F401 - its tables belong to the metadata
from logger.store.tables import Row

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Row.metadata,
    render_as_batch=True,
    user_module_prefix="logger.store.types.",
)
context.run_migrations()
