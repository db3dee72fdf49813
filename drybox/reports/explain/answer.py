"""What `drybox explain` says: the topics, and each in words, equations and sources."""

from __future__ import annotations

from drybox.errors import InputError, did_you_mean
from drybox.reports.explain import finishing, measuring, prints, sun
from drybox.reports.explain.topic import Topic, filled
from drybox.reports.text.answer import Answer, Column, Table, echo_given
from drybox.reports.text.phrases import sentence

TOPICS: dict[str, Topic] = {
    "sun": sun.SUN,
    "light": sun.LIGHT,
    "weather": sun.WEATHER,
    "aim": sun.AIM,
    "plate": sun.PLATE,
    "print": prints.PRINT,
    "dry": prints.DRY,
    "ways": prints.WAYS,
    "ranges": prints.RANGES,
    "limits": prints.LIMITS,
    "wash": prints.WASH,
    "baths": prints.BATHS,
    "curl": finishing.CURL,
    "measuring": measuring.MEASURING,
    "numbers": prints.NUMBERS,
    "units": prints.UNITS,
}


def topics_answer() -> Answer:
    """Return the list of topics."""
    rows = [{"topic": name, "about": topic.title} for name, topic in TOPICS.items()]
    columns = (Column("topic", "Topic"), Column("about", "what it tells"))
    return Answer(
        command="explain",
        result={"topics": rows},
        lead=["Ask for one of these, like: drybox explain plate"],
        tables=[Table("", columns, rows)],
    )


def explain_answer(name: str) -> Answer:
    """Return one topic."""
    wanted = name.strip().lower()
    if wanted not in TOPICS:
        mend = did_you_mean(wanted, TOPICS, "choose one of: " + ", ".join(TOPICS))
        raise InputError(f"topic '{name}' is not known", "TOPIC", mend)
    topic = TOPICS[wanted]
    words, sources, left_out = (
        [filled(text) for text in part] for part in (topic.words, topic.sources, topic.left_out)
    )
    equations = [{"what": what, "equation": filled(text)} for what, text in topic.equations]
    columns = (Column("what", "What"), Column("equation", topic.second))
    missing = [sentence("Left out: " + "; ".join(left_out))] if left_out else []
    return Answer(
        command="explain",
        inputs=echo_given("explain", "argument", topic=wanted),
        result={
            "topic": wanted,
            "title": topic.title,
            "words": words,
            "equations": equations,
            "sources": sources,
            "left_out": left_out,
        },
        lead=[sentence(topic.title), *words],
        tables=[Table("", columns, equations)],
        assumptions=[*(sentence(text) for text in sources), *missing],
    )
