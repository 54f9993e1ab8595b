"""Import contracts of our own, for what the linter's own kinds can't say: see `.importlinter`.

Both name modules that need not exist yet, and both refuse a module that nobody thought of.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from importlinter import Contract, ContractCheck, fields, output

if TYPE_CHECKING:
    from collections.abc import Iterable

    from grimp import ImportGraph


def is_within(module: str, packages: Iterable[str]) -> bool:
    """Tell whether a module is one of the packages or stands in one."""
    return any(module == package or module.startswith(f"{package}.") for package in packages)


def names(field: fields.ListField) -> list[str]:
    """Return the names that stand in a field of a contract; the linter puts them there in place of the field."""
    return cast("list[str]", field)


class _ListedContract(Contract):
    """A contract whose check yields one line for each import that breaks it."""

    def render_broken_contract(self, check: ContractCheck) -> None:
        """Print the imports that break the contract."""
        for line in check.metadata["wrong"]:
            output.print_error(line)

    def check(self, graph: ImportGraph, verbose: bool) -> ContractCheck:
        """Keep the contract when there is nothing to list."""
        del verbose
        wrong = list(self.list_wrong(graph))
        return ContractCheck(kept=not wrong, metadata={"wrong": wrong})

    def list_wrong(self, graph: ImportGraph) -> Iterable[str]:
        """Yield a line for each import that breaks the contract."""
        raise NotImplementedError


class DoorsContract(_ListedContract):
    """Every direct import from `importers`, but for `exceptions`, into `roots` must go to one of `doors`."""

    type_name = "doors"

    importers = fields.ListField(subfield=fields.StringField())
    exceptions = fields.ListField(subfield=fields.StringField(), required=False, default=[])
    roots = fields.ListField(subfield=fields.StringField())
    doors = fields.ListField(subfield=fields.StringField())

    def list_wrong(self, graph: ImportGraph) -> Iterable[str]:
        """Yield every import past the doors."""
        for importer in sorted(graph.modules):
            if not is_within(importer, names(self.importers)) or is_within(importer, names(self.exceptions)):
                continue
            for imported in sorted(graph.find_modules_directly_imported_by(importer)):
                if is_within(imported, names(self.roots)) and not is_within(imported, names(self.doors)):
                    yield f"{importer} imports {imported}"


class PureContract(_ListedContract):
    """No module of `pure`, but for those of `shell`, may reach `forbidden`, be it through others."""

    type_name = "pure"

    pure = fields.ListField(subfield=fields.StringField())
    shell = fields.ListField(subfield=fields.StringField(), required=False, default=[])
    forbidden = fields.ListField(subfield=fields.StringField())

    def list_wrong(self, graph: ImportGraph) -> Iterable[str]:
        """Yield the shortest way to each forbidden module that a pure one reaches."""
        forbidden = sorted(module for module in graph.modules if is_within(module, names(self.forbidden)))
        for module in sorted(graph.modules):
            if not is_within(module, names(self.pure)) or is_within(module, names(self.shell)):
                continue
            for reached in graph.find_upstream_modules(module).intersection(forbidden):
                way = graph.find_shortest_chain(importer=module, imported=reached)
                yield " -> ".join(way or (module, reached))
