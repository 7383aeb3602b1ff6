"""The door for MkDocs: hands it the pages, and shows what the checks found.

The only package that imports MkDocs. `rungbook build` and `rungbook serve` come through `make_site` and `serve`; plain
`mkdocs build` and `mkdocs serve` come through the plugin. All of them use the same pages.
"""

from __future__ import annotations

import logging
import os
import posixpath
import re
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, ClassVar

from mkdocs.commands import build as mkdocs_build
from mkdocs.config import config_options, load_config
from mkdocs.config.base import Config
from mkdocs.exceptions import MkDocsException, PluginError
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import File

from generator.build import Again, Prepared, prepare, problems_of
from generator.diagnostics import Problem, Severity, as_text
from generator.mkdocs_plugin.blocks import WholeBlocks
from generator.mkdocs_plugin.indexing import quicken
from generator.mkdocs_plugin.siblings import keep_navigation
from generator.mkdocs_plugin.unchanged import Unchanged
from generator.model import Curriculum
from generator.rendering.directions import direction_of_language
from generator.rendering.offline import BARE, farewell, finish, finished, theme_scripts
from generator.rendering.pages import PAPERS, assets, pages_of
from generator.rendering.pages.banner import banner_of, broken_page
from generator.rendering.pages.frame import frame_text, frame_words, prose_apart
from generator.rendering.pages.inert import quiet
from generator.rendering.pages.navigation import navigation_of

log = logging.getLogger("mkdocs.plugins.rungbook")

WORKER = "iframe-worker.js"
"""Lets the search run in pages opened from a folder. The theme looks for this name before it names one elsewhere."""

_HREF = re.compile(r'(?<= href=")([^":#?]+\.(?:md|pdf|csv|ics))(?=[#"])')
_LEVELS = {Severity.ERROR: logging.ERROR, Severity.WARNING: logging.WARNING, Severity.NOTE: logging.INFO}


class SiteError(Exception):
    """The engine could not make the site. Its text says why and what to do."""


class RungbookConfig(Config):  # type: ignore[misc]
    """Options of the plugin in `mkdocs.yml`."""

    curriculum = config_options.Type(str, default="curriculum")
    """Folder of the YAML files, relative to `mkdocs.yml`."""
    sheets = config_options.Type(bool, default=True)
    """Whether to typeset the PDFs."""
    store = config_options.Type(str, default=".rungbook/store")
    """Folder that keeps typeset sheets, so that an unchanged one is not typeset again."""


class RungbookPlugin(BasePlugin[RungbookConfig]):  # type: ignore[misc]
    """Adds the curriculum's pages, sheets and assets to a MkDocs site."""

    folder_given: ClassVar[Path | None] = None
    """A curriculum folder named on the command line, which wins over the configuration."""

    def __init__(self) -> None:
        self.handed: Prepared | None = None
        """What a caller has already prepared; then nothing is read or checked again."""
        self.is_serving = False
        self.again = Again()
        self.unchanged = Unchanged()
        self.blocks = WholeBlocks()
        self.addresses: dict[tuple[str, str], dict[str, str]] = {}
        """Addresses of links by where a page lies, before and after. A missing one is kept out: each page warns."""
        self.problems: tuple[Problem, ...] = ()
        self.curriculum: Curriculum | None = None
        self.files: dict[str, str | bytes | Path] = {}
        self.theme_scripts: frozenset[str] = frozenset()

    def on_startup(self, *, command: str, dirty: bool) -> None:
        """Remember whether a problem must stop the run or only show."""
        self.is_serving = command == "serve"

    @event_priority(100)  # type: ignore[untyped-decorator]
    def on_config(self, config: Any) -> Any:
        """Read and check, then tell the theme about assets, names and navigation."""
        self._prepare(config)
        for name in self.files:
            if name.endswith(".css"):
                config.extra_css.append(name)
            elif name.endswith(".js") and not name.endswith(WORKER):
                config.extra_javascript.append(name)
        polyfills = config.extra.setdefault("polyfills", [])
        polyfills.append(next(name for name in self.files if name.endswith(WORKER)))
        config.markdown_extensions.append(self.blocks)
        if self.curriculum is not None:
            program = self.curriculum.program
            config.site_name = quiet(program.name)
            config.site_url = config.site_url or program.site_url
            config.copyright = frame_text(program.medical_direction, direction_of_language(program.language))
            _speak(config, program.language)
            _rename(config, frame_words(self.curriculum.label))
        return config

    def on_files(self, files: Any, *, config: Any) -> Any:
        """Add the generated pages, and navigation where the configuration has none."""
        self.addresses = {}
        _keep_inside(files, Path(config.docs_dir))
        typed = [file.src_uri for file in files.documentation_pages()]
        for name, content in self.files.items():
            existing = files.get_file_from_path(name)
            if existing is not None:
                log.warning("%s comes from the curriculum; the file of that name among the pages is left out", name)
                files.remove(existing)
                typed = [uri for uri in typed if uri != name]
            files.append(
                File.generated(config, name, abs_src_path=str(content.absolute()))
                if isinstance(content, Path)
                else File.generated(config, name, content=content)
            )
        if config.nav is None and self.curriculum is not None:
            config.nav = navigation_of(self.curriculum, prose=typed)
        if self.is_serving:
            self.unchanged.begin(config, files)
        return files

    def on_pre_page(self, page: Any, *, config: Any, files: Any) -> Any:
        """Convert a generated page the short way; while serving, one that did not change is not converted again."""
        if page.file.src_uri in self.files:
            self.blocks.convert(page)
        if self.is_serving:
            self.unchanged.convert(page)
        return page

    def on_env(self, env: Any, *, config: Any, files: Any) -> Any:
        """Index pages in one pass; while serving, one that did not change is not indexed and templated again."""
        for plugin in config.plugins.values():
            if hasattr(getattr(plugin, "search_index", None), "add_entry_from_context"):
                quicken(plugin.search_index)
                if self.is_serving:
                    self.unchanged.index(plugin.search_index)
        keep_navigation(env)
        if self.is_serving:
            self.unchanged.template(env, self._navigation)
        return env

    def on_nav(self, nav: Any, *, config: Any, files: Any) -> Any:
        """Note the navigation: every page shows it."""
        self._navigation = nav
        return nav

    def on_page_content(self, html: str, *, page: Any, config: Any, files: Any) -> str:
        """Turn links between source files into links between pages, and show the problems while serving."""
        if page.file.src_uri not in self.files and self.curriculum is not None:
            html = prose_apart(html, direction_of_language(self.curriculum.program.language))
        if not self.is_serving:
            page.markdown = ""  # a thousand pages would be held twice; nothing reads it after this
            return self._linked(html, page, files)
        html = self.unchanged.content(page.file.src_uri, html, lambda html: self._linked(html, page, files))
        return str(banner_of(self.problems, page.file.src_uri)) + html

    def _linked(self, html: str, page: Any, files: Any) -> str:
        place = posixpath.dirname(page.file.src_uri), posixpath.dirname(page.url)
        known = self.addresses.setdefault(place, {})

        def address(match: re.Match[str]) -> str:
            found = known.get(match[1]) or self._address(match[1], page.file, files)
            if found is None:
                return match[1]
            known[match[1]] = found
            return found

        return _HREF.sub(address, html)

    @event_priority(-100)  # type: ignore[untyped-decorator]
    def on_post_template(self, output: str, *, template_name: str, config: Any) -> str:
        """Learn the theme's own scripts from the page that holds nothing else. It is made before all others."""
        if template_name == BARE:
            self.theme_scripts = theme_scripts(output)
        return output

    @event_priority(-100)  # type: ignore[untyped-decorator]
    def on_post_page(self, output: str, *, page: Any, config: Any) -> str:
        """Give a page its policy before it is written. A page that is served live has the engine's own script in it."""
        if self.is_serving:
            return output
        page.content = None  # written: nothing reads it after this
        return finished(output, self.theme_scripts)

    @event_priority(-100)  # type: ignore[untyped-decorator]
    def on_post_build(self, *, config: Any) -> None:
        """Write the search index as a script too, which a page opened from a folder may load; then the edition."""
        index = Path(config.site_dir) / "search" / "search_index.json"
        if index.is_file():
            script = index.with_name("search_index.js")
            script.write_text(f"var __index = {index.read_text(encoding='utf-8')}", encoding="utf-8")
        if self.is_serving:
            farewell(Path(config.site_dir))
        else:
            label = self.curriculum.label if self.curriculum else str
            finish(Path(config.site_dir), label=label, language=config.theme["language"])

    def on_serve(self, server: Any, *, config: Any, builder: Any) -> Any:
        """Reload when the YAML changes."""
        server.watch(str(self._folder(config)))
        return server

    def _folder(self, config: Any) -> Path:
        return self.folder_given or _beside(config, self.config.curriculum)

    def _prepare(self, config: Any) -> None:
        if self.handed is not None:
            ready: Prepared | None = self.handed
            self.curriculum, self.problems = self.handed.curriculum, self.handed.problems
        else:
            ready = None
            today = date.today()
            again = self.again if self.is_serving else None
            self.curriculum, self.problems = problems_of(self._folder(config), today=today, again=again)
            self._tell()
            if self.curriculum is not None and not any(problem.is_error for problem in self.problems):
                ready = prepare(
                    self.curriculum,
                    self.problems,
                    today=today,
                    papers=[paper for paper, _ in PAPERS] if self.config.sheets else (),
                    store=_beside(config, self.config.store),
                    again=again,
                )
        if ready is not None:
            self.files = {**ready.assets, **ready.files, **ready.pages}
        else:
            self.files = {**assets(), **_broken(self.curriculum, self.problems)}

    def _tell(self) -> None:
        errors = [problem for problem in self.problems if problem.is_error]
        if errors and not self.is_serving:
            raise PluginError(f"the curriculum has errors, so no site was written\n{as_text(errors)}")
        for problem in self.problems:
            log.log(_LEVELS[problem.severity], "%s", as_text([problem]).rstrip())

    def _address(self, target: str, origin: Any, files: Any) -> str | None:
        path = posixpath.normpath(posixpath.join(posixpath.dirname(origin.src_uri), target))
        file = files.get_file_from_path(path)
        if file is None:
            if path.endswith(".md"):
                log.warning("%s links to %s, which is not there", origin.src_uri, path)
            return None
        return str(file.url_relative_to(origin))


def _keep_inside(files: Any, folder: Path) -> None:
    """Leave out what a link among the pages leads to outside of their folder: the engine follows each link."""
    inside = folder.resolve()
    typed = [file for file in files if file.src_dir == str(folder) and file.abs_src_path is not None]
    for file in typed:
        if not Path(os.path.realpath(file.abs_src_path)).is_relative_to(inside):
            files.remove(file)


def _speak(config: Any, language: str) -> None:
    """Let the theme's own words and its direction of writing follow the program's language, where the theme has it."""
    name = language.split("-", maxsplit=1)[0]
    known = any((Path(folder) / "partials" / "languages" / f"{name}.html").is_file() for folder in config.theme.dirs)
    if known and "language" in config.theme:
        config.theme["language"] = name


def _rename(config: Any, own: Mapping[str, str]) -> None:
    """Let the words of the frame that stand in `mkdocs.yml` be the program's, where they are the shipped ones."""
    palette = config.theme.get("palette") or ()
    switches = [scheme.get("toggle") for scheme in palette if isinstance(scheme, dict)]
    for held, key in ((config.mdx_configs.get("toc"), "title"), *((switch, "name") for switch in switches)):
        if isinstance(held, dict) and held.get(key) in own:
            held[key] = own[held[key]]


def _broken(curriculum: Curriculum | None, problems: Sequence[Problem]) -> dict[str, str]:
    """Pages while the curriculum has errors: all that can be shown, without sheets."""
    if curriculum is None:
        return {"index.md": broken_page(problems)}
    return pages_of(curriculum, sheets=(), problems=problems, today=date.today())


def _beside(config: Any, path: str) -> Path:
    base = Path(config.config_file_path).parent if config.config_file_path else Path()
    return base / path


def make_site(prepared: Prepared, folder: Path, *, config_file: Path) -> None:
    """Write the HTML of a prepared handbook into a folder. Nothing is read or checked again.

    Raises OSError when a file cannot be written, and SiteError when the engine refuses its configuration.
    """
    try:
        config = load_config(str(config_file), site_dir=str(folder))
    except MkDocsException as problem:
        raise SiteError(f"{config_file} cannot be used: {problem}. Nothing was changed. Mend that file.") from problem
    plugin = config.plugins.get("rungbook")
    if not isinstance(plugin, RungbookPlugin):
        raise SiteError(f"{config_file} does not name the plugin: add `rungbook` under `plugins`. Nothing was changed.")
    plugin.handed = prepared
    config.plugins.on_startup(command="build", dirty=False)
    try:
        mkdocs_build.build(config)
    except MkDocsException as problem:
        raise SiteError(f"The site could not be made: {problem}. The last good site is still in place.") from problem
    finally:
        plugin.handed, plugin.files = None, {}  # MkDocs keeps one plugin for all builds of a process
        config.plugins.on_shutdown()


def serve(config_file: Path, *, curriculum: Path | None = None, address: str | None = None) -> None:
    """Serve the handbook and rebuild it as its YAML changes, until interrupted."""
    from mkdocs.commands import serve as mkdocs_serve  # noqa: PLC0415 (a build need not wait for a server)

    RungbookPlugin.folder_given = curriculum
    said = logging.getLogger("mkdocs")
    handler = logging.StreamHandler()
    handler.setFormatter(logging.Formatter("%(message)s"))
    said.addHandler(handler)
    said.setLevel(logging.INFO)
    try:
        mkdocs_serve.serve(str(config_file), dev_addr=address)
    finally:
        said.removeHandler(handler)
        RungbookPlugin.folder_given = None
