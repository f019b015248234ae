-- The language server, as Neovim 0.11 and later find it. `vim.g.withy_path` says where the program lies, if it is not on
-- the path; `vim.g.withy_hints = { times = false }` switches a kind of hint off.
return {
  cmd = { vim.g.withy_path or 'withy', 'language-server' },
  filetypes = { 'withy' },
  root_markers = { 'withy.toml', '.git' },
  init_options = { hints = vim.g.withy_hints or vim.empty_dict() },
  settings = { withy = { hints = vim.g.withy_hints or vim.empty_dict() } },
}
