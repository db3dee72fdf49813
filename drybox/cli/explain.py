"""``drybox explain``: the method in plain words."""

from __future__ import annotations

from collections.abc import Iterable

import click

from drybox.cli.option_types import Completed
from drybox.cli.options import Options, answer_options


def _topics() -> Iterable[str]:
    from drybox.reports.explain.answer import TOPICS

    return TOPICS


@click.command(
    epilog="""\b
Examples:
  drybox explain
  drybox explain plate
  drybox explain ways --format json
"""
)
@click.argument("topic", type=Completed(_topics), required=False, metavar="[TOPIC]")
@answer_options
def command(options: Options, topic: str | None) -> None:
    """Say how an answer is come by: in words, equations, sources, and what is left out.

    Without a topic, list the topics. Figures are read from the shipped tables.
    """
    from drybox.reports.explain.answer import explain_answer, topics_answer

    options.show(topics_answer() if topic is None else explain_answer(topic))
