-- The same server in a Neovim that has no `vim.lsp.enable` yet: `plugin/withy.lua` starts it by hand.

local function wait(what, get)
  assert(vim.wait(60000, get, 20), 'waited in vain for ' .. what)
end

local function run()
  vim.cmd('edit recipes/tent_card.withy')
  assert(vim.bo.filetype == 'withy', 'the kind of file is ' .. vim.bo.filetype)
  wait('the server', function()
    local found = next(vim.lsp.buf_get_clients(0))
    return found and vim.lsp.get_client_by_id(found).initialized
  end)
  assert(vim.bo.omnifunc == 'v:lua.vim.lsp.omnifunc', vim.bo.omnifunc)

  local line = vim.fn.search('ambient', 'w')
  vim.cmd('silent ' .. line .. 's/ambient/ambeint/')
  wait('the finding', function()
    for _, one in ipairs(vim.diagnostic.get(0)) do
      if one.code == 'unknown-entry' then
        return one.lnum == line - 1 and one.col == 2
      end
    end
  end)

  vim.fn.search('transfer', 'w')
  local answers = vim.lsp.buf_request_sync(0, 'textDocument/hover', vim.lsp.util.make_position_params(), 20000)
  local _, answer = next(answers)
  assert(answer.result.contents.value:find('heater off to bend finished', 1, true), vim.inspect(answer))

  vim.cmd('silent edit! parts/riser.withy')
  local right = vim.api.nvim_buf_get_lines(0, 0, -1, true)
  vim.cmd([[silent %s/^  \+/       /]])
  answers = vim.lsp.buf_request_sync(0, 'textDocument/formatting', vim.lsp.util.make_formatting_params(), 20000)
  local id, edits = next(answers)
  vim.lsp.util.apply_text_edits(edits.result, 0, vim.lsp.get_client_by_id(id).offset_encoding)
  assert(vim.deep_equal(vim.api.nvim_buf_get_lines(0, 0, -1, true), right), 'the style is not restored')
end

local ok, why = xpcall(run, debug.traceback)
io.stdout:write(ok and 'ok old\n' or tostring(why) .. '\n')
vim.lsp.stop_client(vim.lsp.get_active_clients())
vim.cmd(ok and 'qall!' or 'cquit 1')
