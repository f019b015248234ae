// Written from the compiler's own tables by `WITHY_UPDATE=1 cargo test --test syntax words`.

static const char *const JOINED_BEFORE[] = {"as", "because", "else", "then", "until"};
static const char *const RESERVED[] = {"as", "at", "because", "computed", "else", "for", "from", "if", "no", "none", "on", "plus", "then", "until", "with", "within", "yes"};
static const char *const DECLARATIONS[] = {"alloy", "batch", "bench", "controller", "heater", "let", "lot", "material", "metal", "part", "recipe", "sheet", "supply", "use", "wire"};
