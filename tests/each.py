"""One claim tried on many cases within one test: the runner takes longer to set up a case than most cases take."""

from collections.abc import Iterable
from inspect import Parameter, signature


def each(names, cases, ids=None):
    """
    Give a test all cases at once, as `pytest.mark.parametrize` gives them one by one; stacked, every combination.

    `names` are its arguments, as text with commas or a sequence. It goes on after a case that fails, and tells all
    that do, each by its name. For claims that leave nothing behind: fixtures are the same for all cases. None is an
    error, or a claim would be held on nothing.
    """
    names = [name.strip() for name in names.split(",")] if isinstance(names, str) else list(names)
    cases = list(cases)
    if not cases:
        raise ValueError(f"no cases of {', '.join(names)}")

    def over(claim):
        def test(**given):
            failures = []
            for at, case in enumerate(cases):
                values = (case,) if len(names) == 1 else tuple(case)
                try:
                    claim(**given, **dict(zip(names, values, strict=True)))
                except Exception as error:  # noqa: BLE001 - told below, with the case
                    error.add_note(f"case {_named(at, case, ids)}")
                    failures.append(error)
            if failures:
                raise ExceptionGroup(f"{len(failures)} of {len(cases)} cases", failures)

        wanted = signature(claim)
        left = [given for name, given in wanted.parameters.items() if name not in names]
        test.__signature__ = wanted.replace(parameters=[p.replace(kind=Parameter.KEYWORD_ONLY) for p in left])
        test.__name__, test.__doc__, test.__module__ = claim.__name__, claim.__doc__, claim.__module__
        test.cases = len(cases) * getattr(claim, "cases", 1)
        return test

    return over


def _named(at, case, ids):
    """Return how a case is called: by `ids`, a function or a sequence; else by what it holds."""
    if ids is None:
        values = case if isinstance(case, Iterable) and not isinstance(case, str) else (case,)
        return ", ".join(str(getattr(value, "name", value)) for value in values)
    return ids(case) if callable(ids) else list(ids)[at]
