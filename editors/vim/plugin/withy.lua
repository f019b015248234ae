-- Starts the language server for recipes: by Neovim's own means from 0.11, by hand before.
if vim.g.loaded_withy then
  return
end
vim.g.loaded_withy = true

if vim.lsp.enable then
  vim.lsp.enable('withy')
  return
end

--- The folder of the settings above a file, else the file's own.
local function root_of(file)
  local folder = vim.fn.fnamemodify(file, ':p:h')
  local settings = vim.fn.findfile('withy.toml', vim.fn.escape(folder, ' ') .. ';')
  return settings == '' and folder or vim.fn.fnamemodify(settings, ':p:h')
end

--- The server of each root that has been started.
local started = {}

local function attach(buffer)
  local root = root_of(vim.api.nvim_buf_get_name(buffer))
  started[root] = started[root] or vim.lsp.start_client({
    name = 'withy',
    cmd = { vim.g.withy_path or 'withy', 'language-server' },
    root_dir = root,
    init_options = { hints = vim.g.withy_hints or vim.empty_dict() },
  })
  if started[root] then
    vim.lsp.buf_attach_client(buffer, started[root])
    vim.bo[buffer].omnifunc = 'v:lua.vim.lsp.omnifunc'
  end
end

vim.api.nvim_create_autocmd('FileType', {
  pattern = 'withy',
  callback = function(event)
    attach(event.buf)
  end,
})
