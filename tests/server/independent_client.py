"""Every request, asked by a client that is made from the protocol's own description: what it cannot read is a fault.

WITHY_BINARY is the program, WITHY_LIBRARY a copy of the example library.
"""

import asyncio
import os
import pathlib

import pytest
import pytest_lsp
from lsprotocol import types
from pytest_lsp import ClientServerConfig, LanguageClient

LIBRARY = pathlib.Path(os.environ["WITHY_LIBRARY"])
RECIPE = LIBRARY / "recipes" / "dust_cover.withy"
TEXT = RECIPE.read_text(encoding="utf-8").replace(
    "  bend lip {", '  accept thin-margin because "22 °C, 8 µm, 1 Ω, 𝛺", bend lip {'
)


@pytest_lsp.fixture(
    params=["visual_studio_code", "neovim", "emacs"],
    config=ClientServerConfig(server_command=[os.environ["WITHY_BINARY"], "language-server"]),
)
async def client(request, lsp_client: LanguageClient):
    # What a server may ask of a client with these capabilities, and this one does not answer by itself.
    for method in ("client/registerCapability", "workspace/inlayHint/refresh"):

        def answer(*_):
            return None

        lsp_client.feature(method)(answer)
    params = types.InitializeParams(
        capabilities=pytest_lsp.client_capabilities(request.param),
        workspace_folders=[types.WorkspaceFolder(uri=LIBRARY.as_uri(), name="library")],
    )
    result = await lsp_client.initialize_session(params)
    lsp_client.encoding = result.capabilities.position_encoding or "utf-16"
    lsp_client.text_document_did_open(
        types.DidOpenTextDocumentParams(
            text_document=types.TextDocumentItem(uri=RECIPE.as_uri(), language_id="withy", version=1, text=TEXT)
        )
    )
    yield
    await lsp_client.shutdown_session()


DOCUMENT = types.TextDocumentIdentifier(uri=RECIPE.as_uri())


def position(client, piece, text=TEXT):
    at = text.index(piece) + 1
    line = text.count("\n", 0, at)
    before = text[text.rfind("\n", 0, at) + 1 : at]
    width = {"utf-8": lambda s: len(s.encode()), "utf-16": lambda s: len(s.encode("utf-16-le")) // 2, "utf-32": len}
    return types.Position(line=line, character=width[client.encoding](before))


def whole():
    return types.Range(start=types.Position(0, 0), end=types.Position(TEXT.count("\n") + 1, 0))


async def patiently(ask):
    """A request about a text whose figures are outdated by an edit is asked again, as editors do."""
    for _ in range(50):
        try:
            return await ask()
        except Exception as error:  # noqa: BLE001 - the client's own error type differs by version
            if "-32801" not in repr(error) and "changed" not in str(error):
                raise
            await asyncio.sleep(0.1)
    raise AssertionError("never answered")


async def test_texts(client: LanguageClient):
    def at(piece):
        return {"text_document": DOCUMENT, "position": position(client, piece)}

    hover = await patiently(lambda: client.text_document_hover_async(types.HoverParams(**at("lip {"))))
    assert "lip" in hover.contents.value
    found = await client.text_document_completion_async(types.CompletionParams(**at("transfer 3 s")))
    assert any(item.label == "swing" for item in found.items)
    place = await client.text_document_definition_async(types.DefinitionParams(**at("lip {")))
    place = place[0] if isinstance(place, list) else place
    assert place.uri.endswith("parts/dust_cover.withy")
    uses = await client.text_document_references_async(
        types.ReferenceParams(context=types.ReferenceContext(include_declaration=True), **at("lip {"))
    )
    assert len(uses) >= 4
    marks = await client.text_document_document_highlight_async(types.DocumentHighlightParams(**at("lip {")))
    assert len(marks) == 2
    assert await client.text_document_prepare_rename_async(types.PrepareRenameParams(**at("lip {"))) is not None
    edit = await client.text_document_rename_async(types.RenameParams(new_name="edge", **at("lip {")))
    assert edit.changes or edit.document_changes
    assert await client.text_document_signature_help_async(types.SignatureHelpParams(**at("lip {"))) is None


async def test_shape(client: LanguageClient):
    symbols = await client.text_document_document_symbol_async(types.DocumentSymbolParams(text_document=DOCUMENT))
    assert symbols[0].name == "dust_cover_run"
    found = await client.workspace_symbol_async(types.WorkspaceSymbolParams(query="tall"))
    assert any(symbol.name == "tall_cover" for symbol in found)
    folds = await client.text_document_folding_range_async(types.FoldingRangeParams(text_document=DOCUMENT))
    assert folds
    grown = await client.text_document_selection_range_async(
        types.SelectionRangeParams(text_document=DOCUMENT, positions=[position(client, "lip {")])
    )
    assert grown[0].parent is not None
    tokens = await client.text_document_semantic_tokens_full_async(types.SemanticTokensParams(text_document=DOCUMENT))
    assert len(tokens.data) > 100 and len(tokens.data) % 5 == 0
    tokens = await client.text_document_semantic_tokens_range_async(
        types.SemanticTokensRangeParams(text_document=DOCUMENT, range=whole())
    )
    assert len(tokens.data) > 100
    links = await client.text_document_document_link_async(types.DocumentLinkParams(text_document=DOCUMENT))
    assert links[0].target.endswith("bench/north.withy")
    options = types.FormattingOptions(tab_size=2, insert_spaces=True)
    assert await client.text_document_formatting_async(
        types.DocumentFormattingParams(text_document=DOCUMENT, options=options)
    )
    assert await client.text_document_range_formatting_async(
        types.DocumentRangeFormattingParams(text_document=DOCUMENT, range=whole(), options=options)
    )


async def test_figures(client: LanguageClient):
    hints = await patiently(
        lambda: client.text_document_inlay_hint_async(types.InlayHintParams(text_document=DOCUMENT, range=whole()))
    )
    assert any("blank" in str(hint.label) for hint in hints)
    here = position(client, "heat computed")
    actions = await patiently(
        lambda: client.text_document_code_action_async(
            types.CodeActionParams(
                text_document=DOCUMENT,
                range=types.Range(start=here, end=here),
                context=types.CodeActionContext(diagnostics=[]),
            )
        )
    )
    assert any(action.title.startswith("write the computed time") for action in actions)
    report = await client.text_document_diagnostic_async(types.DocumentDiagnosticParams(text_document=DOCUMENT))
    assert report.kind == "full"
    report = await client.workspace_diagnostic_async(types.WorkspaceDiagnosticParams(previous_result_ids=[]))
    assert len(report.items) > 10


async def test_edits(client: LanguageClient):
    wrong = position(client, "transfer 3 s")
    change = types.TextDocumentContentChangePartial(
        range=types.Range(start=wrong, end=types.Position(wrong.line, wrong.character + 1)), text=""
    )
    client.text_document_did_change(
        types.DidChangeTextDocumentParams(
            text_document=types.VersionedTextDocumentIdentifier(uri=RECIPE.as_uri(), version=2),
            content_changes=[change],
        )
    )
    report = await client.text_document_diagnostic_async(types.DocumentDiagnosticParams(text_document=DOCUMENT))
    assert any(item.code == "unknown-entry" for item in report.items), report
    client.text_document_did_save(types.DidSaveTextDocumentParams(text_document=DOCUMENT))
    client.workspace_did_change_watched_files(
        types.DidChangeWatchedFilesParams(
            changes=[types.FileEvent(uri=RECIPE.as_uri(), type=types.FileChangeType.Changed)]
        )
    )
    client.text_document_did_close(types.DidCloseTextDocumentParams(text_document=DOCUMENT))
    with pytest.raises(Exception, match="not open"):
        await client.text_document_hover_async(
            types.HoverParams(
                text_document=types.TextDocumentIdentifier(uri="file:///nowhere/at_all.withy"),
                position=types.Position(0, 0),
            )
        )
