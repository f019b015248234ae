-- What a person does in Neovim, one thing after the other, in a library of their own. Ends with an error at the first
-- thing that does not come out.

local failed

--- Waits until `get` gives something, which is returned; a minute, unless told otherwise.
local function wait(what, get, time)
  local value
  local ok = vim.wait(time or 60000, function()
    value = get()
    return value ~= nil and value ~= false
  end, 20)
  assert(ok, 'waited in vain for ' .. what)
  return value
end

local function client()
  return vim.lsp.get_clients({ bufnr = 0, name = 'withy' })[1]
end

local function open(path)
  vim.cmd.edit({ path, bang = true })
  assert(vim.bo.filetype == 'withy', 'the kind of file is ' .. vim.bo.filetype)
  wait('the server', client)
end

local function line_of(text)
  for number, line in ipairs(vim.api.nvim_buf_get_lines(0, 0, -1, true)) do
    local column = line:find(text, 1, true)
    if column then
      return number, column - 1
    end
  end
  error('no line holds ' .. text)
end

--- Puts the cursor on the first place of a text.
local function go(text)
  local line, column = line_of(text)
  vim.api.nvim_win_set_cursor(0, { line, column })
end

local function replace(old, new)
  local line = line_of(old)
  local text = vim.api.nvim_buf_get_lines(0, line - 1, line, true)[1]
  local from, to = text:find(old, 1, true)
  vim.api.nvim_buf_set_text(0, line - 1, from - 1, line - 1, to, { new })
end

local function buffer()
  return table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, true), '\n')
end

--- What the server answers to a request at the cursor.
local function ask(method, more)
  local params = vim.tbl_extend('force', vim.lsp.util.make_position_params(0, client().offset_encoding), more or {})
  local answer = assert(client():request_sync(method, params, 20000, 0))
  assert(not answer.err, vim.inspect(answer.err))
  return answer.result
end

--- The findings of a code, once there are any.
local function finding(code)
  return wait('a finding ' .. code, function()
    return vim.iter(vim.diagnostic.get(0)):find(function(one)
      return one.code == code
    end)
  end)
end

local function no_errors()
  wait('no errors', function()
    return #vim.diagnostic.get(0, { severity = vim.diagnostic.severity.ERROR }) == 0
  end)
end

local steps = {}

function steps.diagnostics()
  open('recipes/tent_card.withy')
  vim.wait(500)
  no_errors()
  replace('ambient', 'ambeint')
  local found = finding('unknown-entry')
  assert(found.severity == vim.diagnostic.severity.ERROR)
  assert(found.lnum == line_of('ambeint') - 1 and found.col == 2, vim.inspect(found))
  assert(found.message:find('is no entry of a recipe', 1, true), found.message)
end

function steps.code_action_applied_and_saved()
  go('ambeint')
  vim.lsp.buf.code_action({
    filter = function(action)
      return action.title:find('ambient', 1, true) ~= nil
    end,
    apply = true,
  })
  wait('the mend', function()
    return buffer():find('  ambient 19..24 degC', 1, true)
  end)
  no_errors()
  vim.cmd('silent write')
  local saved = table.concat(vim.fn.readfile('recipes/tent_card.withy'), '\n')
  assert(saved == buffer() and saved:find('ambient', 1, true))
end

function steps.hover()
  go('transfer 2.5 s')
  local text = ask('textDocument/hover').contents.value
  assert(text:find('heater off to bend finished', 1, true), text)
  -- As a person sees it: a window that floats.
  vim.lsp.buf.hover()
  wait('the window of the hover', function()
    return #vim.api.nvim_list_wins() > 1
  end)
  vim.cmd('silent! fclose!')
end

function steps.completion()
  open('recipes/tent_card.withy')
  local line = line_of('    transfer 2.5 s')
  vim.api.nvim_buf_set_lines(0, line, line, true, { '    sw' })
  vim.api.nvim_win_set_cursor(0, { line + 1, 6 })
  local items = ask('textDocument/completion', { context = { triggerKind = 1 } })
  items = items.items or items
  local labels = vim.tbl_map(function(item) return item.label end, items)
  assert(vim.tbl_contains(labels, 'swing'), vim.inspect(labels))
  assert(not vim.tbl_contains(labels, 'transfer'), 'what is there already is offered again')
  vim.api.nvim_buf_set_lines(0, line, line + 1, true, {})
end

function steps.definition()
  open('recipes/tent_card.withy')
  go('west {')
  local answer = ask('textDocument/definition')
  local place = answer[1] or answer
  assert((place.uri or place.targetUri):find('bench/west.withy', 1, true), vim.inspect(answer))
end

function steps.rename()
  open('recipes/tent_card.withy')
  go('front')
  vim.lsp.buf.rename('near')
  wait('the new name here', function()
    return select(2, buffer():gsub('on near', '')) == 2
  end)
  local bench = vim.fn.bufnr('bench/west.withy')
  assert(bench > 0, 'the file of the arm is not open')
  local text = table.concat(vim.api.nvim_buf_get_lines(bench, 0, -1, true), '\n')
  assert(text:find('arm near {', 1, true), text)
  vim.cmd('silent wall')
  no_errors()
end

function steps.format()
  open('parts/riser.withy')
  local right = buffer()
  vim.cmd([[silent %s/^  \+/       /]])
  vim.cmd([[silent %s/ {$/    {/]])
  assert(buffer() ~= right)
  vim.lsp.buf.format({ timeout_ms = 20000 })
  assert(buffer() == right, buffer())
end

function steps.symbols_and_hints()
  open('recipes/tent_card.withy')
  local symbols = client():request_sync('textDocument/documentSymbol', { textDocument = vim.lsp.util.make_text_document_params() }, 20000, 0).result
  assert(#symbols == 2 and symbols[1].name == 'tent_card_run', vim.inspect(symbols))
  vim.lsp.inlay_hint.enable()
  wait('computed times between the words', function()
    vim.cmd.redraw()
    return #vim.lsp.inlay_hint.get({ bufnr = 0 }) > 0
  end, 180000)
end

function steps.tree_sitter()
  open('bench/west.withy')
  assert(vim.treesitter.highlighter.active[vim.api.nvim_get_current_buf()], 'tree-sitter does not colour')
  local root = vim.treesitter.get_parser():parse(true)[1]:root()
  assert(not root:has_error())
  local query = assert(vim.treesitter.query.get('withy', 'highlights'))
  local line = line_of('heater front_line') - 1
  local colours = {}
  for id, node in query:iter_captures(root, 0, line, line + 1) do
    colours[vim.treesitter.get_node_text(node, 0)] = query.captures[id]
  end
  assert(colours.heater == 'keyword' and colours.front_line == 'type', vim.inspect(colours))
end

for _, name in ipairs(vim.split(vim.env.STEPS, ' ')) do
  local ok, why = xpcall(steps[name], debug.traceback)
  io.stdout:write((ok and 'ok ' or 'failed ') .. name .. '\n')
  if not ok then
    io.stdout:write(tostring(why) .. '\n')
    failed = true
    break
  end
end
vim.lsp.stop_client(vim.lsp.get_clients())
vim.cmd(failed and 'cquit 1' or 'qall!')
