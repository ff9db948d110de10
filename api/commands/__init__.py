"""The words of the `wormtub` command: one small module each, with a `register` function.

A module imports only typer at its top; what a word needs beyond that is imported inside the
function that runs it, so that `wormtub log` never loads the service.
"""
