"""The import rules and the other house rules, checked over every file. DEVELOPERS.md shows the same table to people."""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
STANDARD = sys.stdlib_module_names
WEB = {"flask", "flask_login", "flask_wtf", "wtforms", "werkzeug", "markupsafe", "structlog"}

# What a package may import: of portal, and from outside the standard library. The longest matching name counts.
RULES: dict[str, tuple[set[str], set[str]]] = {
    "portal": ({"config", "web"}, {"flask"}),
    "portal.config": (set(), {"sqlalchemy"}),
    "portal.i18n": ({"domain"}, {"babel"}),
    "portal.logs": ({"config"}, {"structlog"}),
    "portal.reference": ({"domain"}, set()),
    "portal.domain": ({"domain"}, set()),
    "portal.domain.usual_snow": ({"domain"}, {"numpy"}),
    "portal.domain.coverage": ({"domain"}, {"numpy"}),
    "portal.domain.advice": ({"domain"}, {"numpy"}),
    "portal.domain.pair_sets": ({"domain"}, {"numpy"}),
    "portal.domain.climate": ({"domain"}, {"numpy"}),
    "portal.domain.draws": ({"domain"}, {"numpy"}),
    "portal.domain.evidence": ({"domain"}, {"numpy"}),
    "portal.domain.planning.solver": ({"domain"}, {"ortools"}),
    "portal.domain.texture": ({"domain"}, {"numpy"}),
    "portal.domain.texture_numbers": ({"domain"}, {"numpy"}),
    "portal.db": ({"db", "domain"}, {"sqlalchemy"}),
    "portal.queries": ({"queries", "db", "domain"}, {"sqlalchemy"}),
    "portal.pictures": ({"pictures", "domain"}, {"numpy", "reportlab", "PIL"}),
    "portal.pictures.codes": (set(), {"PIL", "zxingcpp"}),
    "portal.pictures.files": ({"pictures", "domain"}, {"reportlab", "pypdfium2"}),
    "portal.pictures.square_code": (set(), {"segno"}),
    "portal.documents": ({"documents", "pictures", "domain", "i18n"}, {"reportlab", "fontpkg"}),
    "portal.documents.tables": (set(), {"openpyxl"}),
    "portal.documents.workbooks": ({"domain.importing", "domain.words"}, {"openpyxl", "defusedxml"}),
    "portal.mail": ({"mail", "db", "domain", "i18n"}, {"jinja2", "icalendar", "sqlalchemy"}),
    "portal.services": ({"services", "queries", "db", "mail", "domain", "reference", "i18n"}, {"sqlalchemy"}),
    "portal.services.passwords": ({"domain"}, {"argon2", "zxcvbn"}),
    "portal.services.links": ({"domain", "db"}, {"itsdangerous"}),
    "portal.services.authenticators": (set(), {"pyotp"}),
    "portal.services.passkeys": (set(), {"webauthn"}),
    "portal.services.seals": (set(), {"cryptography"}),
    "portal.services.addresses": ({"domain"}, {"email_validator"}),
    "portal.web": (
        {
            "web",
            "services",
            "queries",
            "documents",
            "pictures",
            "domain",
            "reference",
            "i18n",
            "config",
            "db.engine",
        },
        WEB | {"sqlalchemy.orm"},
    ),
    "portal.cli": (
        {
            "cli",
            "services",
            "queries",
            "mail",
            "db",
            "domain",
            "pictures",
            "reference",
            "i18n",
            "config",
            "logs",
            "create_app",
        },
        {"click", "alembic", "sqlalchemy", "waitress", "structlog", "flask"},
    ),
    "demo_seed": ({"services", "queries", "domain", "config", "db", "reference"}, {"sqlalchemy"}),
    "demo_seed.base_picture": ({"domain", "pictures"}, {"PIL"}),
    "demo_seed.bills": ({"documents", "domain", "queries", "services"}, {"sqlalchemy"}),
    "migrations": ({"db", "cli"}, {"alembic", "sqlalchemy"}),
}
AUDIENCES = {"public", "account", "skier", "club", "shop"}


def files(*folders: str) -> Iterator[Path]:
    for folder in folders:
        yield from sorted((ROOT / folder).rglob("*.py"))


def module_of(path: Path) -> str:
    name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
    return name.removesuffix(".__init__")


def for_types_only(tree: ast.Module) -> set[ast.AST]:
    """What stands under ``if TYPE_CHECKING``: it names records to the type checker and is never run."""
    blocks = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
    ]
    return {inner for block in blocks for part in block.body for inner in ast.walk(part)}


def imports_of(path: Path) -> Iterator[tuple[int, str]]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    unrun = for_types_only(tree)
    for node in ast.walk(tree):
        if (
            node in unrun
            and isinstance(node, ast.ImportFrom)
            and (node.module or "").startswith("portal.db.")
        ):
            continue
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: imports are absolute"
            for alias in node.names:
                yield node.lineno, f"{node.module}.{alias.name}"


def rule_of(module: str) -> tuple[set[str], set[str]]:
    parts = module.split(".")
    for length in range(len(parts), 0, -1):
        if ".".join(parts[:length]) in RULES:
            return RULES[".".join(parts[:length])]
    raise AssertionError(f"no import rule for {module}")


def is_allowed(module: str, imported: str) -> bool:
    inside, outside = rule_of(module)
    top = imported.split(".")[0]
    if top == "__future__" or top in STANDARD:
        return True
    if top == "portal":
        rest = imported.removeprefix("portal.")
        return any(rest == name or rest.startswith(name + ".") for name in inside)
    if top == module.split(".")[0]:
        return True
    return any(imported == name or imported.startswith(name + ".") for name in outside)


def test_the_solver_is_loaded_by_commands_only() -> None:
    """A web process neither waits for the solver to load nor lets anybody keep it busy."""
    heavy = (
        "ortools",
        "portal.domain.planning.solver",
        "portal.domain.planning.racing",
        "portal.domain.planning.plan.",
    )
    loading = {
        module_of(path)
        for path in files("portal")
        for _line, name in imports_of(path)
        if name.startswith(heavy)
    }
    assert {name for name in loading if not name.startswith("portal.domain.planning.solver.")} == {
        "portal.cli.plan",
        "portal.cli.work",
        "portal.domain.planning.plan",
        "portal.domain.planning.racing",
    }


@pytest.mark.parametrize("path", list(files("portal", "demo_seed", "migrations")), ids=module_of)
def test_each_module_imports_only_what_its_layer_may(path: Path) -> None:
    module = module_of(path)
    bad = [f"line {line}: {name}" for line, name in imports_of(path) if not is_allowed(module, name)]
    assert not bad, f"{module} may not import: {bad}"


@pytest.mark.parametrize("path", list(files("portal/web")), ids=module_of)
def test_no_audience_imports_another(path: Path) -> None:
    parts = module_of(path).split(".")
    audience = parts[2] if len(parts) > 2 and parts[2] in AUDIENCES else None
    if audience is None:
        return
    for line, name in imports_of(path):
        other = name.split(".")[2] if name.startswith("portal.web.") and len(name.split(".")) > 2 else ""
        assert other not in AUDIENCES - {audience}, f"line {line}: {name}"


# Words that stand in these files only.
WORDS = {
    r"\.(commit|rollback)\(": {"portal/web/request.py", "portal/cli/", "demo_seed/"},
    r"\.begin\(\)": {"portal/web/request.py", "portal/cli/", "demo_seed/"},
    r"\bcurrent_user\b": {"portal/web/request.py"},
    r"\bos\.environ\b|\bgetenv\b": {"portal/config.py"},
    r"datetime\.now\(|date\.today\(|utcnow\(": {
        "portal/web/request.py",
        "portal/cli/",
        "demo_seed/__main__.py",
    },
    r"\bsecrets\.|\brandom\.(?!Random\b)": {"portal/web/", "portal/cli/"},
}


@pytest.mark.parametrize("pattern", WORDS)
def test_some_words_stand_only_where_they_belong(pattern: str) -> None:
    homes = WORDS[pattern]
    strays = []
    for path in files("portal", "demo_seed"):
        name = path.relative_to(ROOT).as_posix()
        if any(name == home or (home.endswith("/") and name.startswith(home)) for home in homes):
            continue
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if re.search(pattern, line) and not line.lstrip().startswith("#"):
                strays.append(f"{name}:{number}: {line.strip()}")
    assert not strays


def test_every_module_says_in_one_docstring_what_it_is() -> None:
    mute = [
        module_of(path)
        for path in files("portal", "demo_seed", "migrations")
        if not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert not mute


def test_importing_the_package_does_not_load_the_web() -> None:
    import subprocess

    code = "import portal, portal.cli, sys; sys.exit('flask' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0


def test_each_function_of_a_service_or_query_says_what_its_signature_does_not() -> None:
    mute = []
    for path in files("portal/domain", "portal/queries", "portal/services"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if (
                isinstance(node, ast.FunctionDef)
                and not node.name.startswith("_")
                and not ast.get_docstring(node)
            ):
                mute.append(f"{module_of(path)}.{node.name}")
    allowed = "portal.domain.access."  # The rules there are named for what they say.
    assert not [name for name in mute if not name.startswith(allowed)]


def test_no_machine_path_and_no_registry_stands_in_a_file_that_is_kept() -> None:
    import subprocess

    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, check=True, capture_output=True, text=True
    ).stdout.split()
    hits = []
    for name in listed:
        path = ROOT / name
        if path.suffix in {".png", ".pdf"} or not path.is_file():
            continue
        text = path.read_text(encoding="utf-8", errors="replace")
        if (
            re.search(r"/(?:home|root|Users)/\w|--(?:extra-)?index-url", text)
            and name != "tests/test_architecture.py"
        ):
            hits.append(name)
    assert not hits
