// What a token is cannot always be told from its own characters: whether a line break ends an entry hangs on the next
// line, and whether a `/` divides numbers or units on what it is glued to. The rules are those of `grammar/withy.ebnf`.

#include "tree_sitter/parser.h"
#include "words.h"

#include <string.h>

enum Token { LINE_END, FENCE, UNIT_SLASH, UNIT_STAR, ERROR_RECOVERY };

// Longer than every word that is looked for.
#define WORD_ROOM 16

static bool is_blank(int32_t c) { return c == ' ' || c == '\t' || c == '\r' || c == 0xfeff; }

static bool is_star(int32_t c) { return c == '*' || c == 0xd7 || c == 0xb7 || c == 0x387 || c == 0x22c5; }

static bool is_degree_sign(int32_t c) { return c == 0xb0 || c == 0x2103 || c == 0x2109; }

// Whether a word can begin with a character. Beyond ASCII this is coarse: letters, but no signs.
static bool is_letter(int32_t c) {
  if (c < 0x80) return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
  if (c < 0xc0) return c == 0xaa || c == 0xb5 || c == 0xba;
  bool is_sign = (c >= 0x2000 && c < 0x2100) || (c >= 0x2190 && c < 0x2c00) || c == 0xd7 || c == 0xf7 || c == 0xfeff;
  return !is_sign && !is_star(c) && !is_degree_sign(c);
}

static bool is_in_word(int32_t c) {
  return is_letter(c) || c == '_' || (c >= '0' && c <= '9') || c == 0xb2 || c == 0xb3;  // ² and ³
}

static void skip_blanks(TSLexer *lexer) {
  while (is_blank(lexer->lookahead)) lexer->advance(lexer, false);
}

// To the next token, over empty lines and comments.
static void skip_to_token(TSLexer *lexer) {
  for (;;) {
    if (lexer->lookahead == '#') {
      while (lexer->lookahead != '\n' && !lexer->eof(lexer)) lexer->advance(lexer, false);
    } else if (is_blank(lexer->lookahead) || lexer->lookahead == '\n') {
      lexer->advance(lexer, false);
    } else {
      return;
    }
  }
}

// Reads a word; false if none stands there. A word that is longer than the room is none of those looked for.
static bool read_word(TSLexer *lexer, char word[WORD_ROOM]) {
  unsigned length = 0;
  if (!is_letter(lexer->lookahead) && lexer->lookahead != '_') return false;
  while (is_in_word(lexer->lookahead)) {
    if (length < WORD_ROOM) word[length++] = lexer->lookahead < 0x80 ? (char)lexer->lookahead : '?';
    lexer->advance(lexer, false);
  }
  word[length < WORD_ROOM ? length : 0] = '\0';
  return true;
}

static bool is_one_of(const char *word, const char *const words[], unsigned count) {
  for (unsigned i = 0; i < count; i++) {
    if (strcmp(word, words[i]) == 0) return true;
  }
  return false;
}

#define IS_ONE_OF(word, words) is_one_of(word, words, sizeof(words) / sizeof((words)[0]))

// Whether a declaration certainly begins with `word`, which was just read: a text follows it on its line, or a name and
// what can only follow the name of a declaration.
static bool opens_declaration(TSLexer *lexer, const char *word) {
  char next[WORD_ROOM];
  if (!IS_ONE_OF(word, DECLARATIONS)) return false;
  skip_blanks(lexer);
  if (lexer->lookahead == '"') return true;
  if (!read_word(lexer, next)) return false;
  skip_blanks(lexer);
  int32_t c = lexer->lookahead;
  if (c == '=') {
    lexer->advance(lexer, false);
    return lexer->lookahead != '=';
  }
  if (c == '{' || c == '(') return true;
  return read_word(lexer, next) && (strcmp(next, "from") == 0 || strcmp(next, "for") == 0);
}

// A line break: an end of an entry, unless the next line goes on with it.
static bool scan_line_end(TSLexer *lexer, const bool *valid) {
  char word[WORD_ROOM];
  while (is_blank(lexer->lookahead)) lexer->advance(lexer, true);
  if (lexer->lookahead != '\n') return false;
  lexer->advance(lexer, false);
  lexer->mark_end(lexer);
  skip_to_token(lexer);
  bool is_word = read_word(lexer, word);
  if (valid[LINE_END]) {
    lexer->result_symbol = LINE_END;
    return !is_word || !IS_ONE_OF(word, JOINED_BEFORE);
  }
  lexer->result_symbol = FENCE;
  return is_word && opens_declaration(lexer, word);
}

// `(m K)` behind a `/`: units, and not an expression in brackets.
static bool is_unit_group(TSLexer *lexer) {
  bool any = false;
  lexer->advance(lexer, false);
  for (;;) {
    char word[WORD_ROOM];
    skip_blanks(lexer);
    if (lexer->lookahead == ')') return any;
    if (read_word(lexer, word)) {
      if (IS_ONE_OF(word, RESERVED)) return false;
      any = true;
    } else if (lexer->lookahead == '%' || is_degree_sign(lexer->lookahead) || (any && is_star(lexer->lookahead))) {
      any = any || !is_star(lexer->lookahead);
      lexer->advance(lexer, false);
    } else {
      return false;
    }
  }
}

// A `/` or `*` glued behind a unit, if it is glued to another unit as well.
static bool scan_unit_operator(TSLexer *lexer) {
  lexer->result_symbol = lexer->lookahead == '/' ? UNIT_SLASH : UNIT_STAR;
  lexer->advance(lexer, false);
  lexer->mark_end(lexer);
  char word[WORD_ROOM];
  if (lexer->lookahead == '(') return is_unit_group(lexer);
  if (is_letter(lexer->lookahead)) return read_word(lexer, word) && !IS_ONE_OF(word, RESERVED);
  return is_degree_sign(lexer->lookahead);
}

void *tree_sitter_withy_external_scanner_create(void) { return NULL; }

void tree_sitter_withy_external_scanner_destroy(void *payload) { (void)payload; }

unsigned tree_sitter_withy_external_scanner_serialize(void *payload, char *buffer) {
  (void)payload;
  (void)buffer;
  return 0;
}

void tree_sitter_withy_external_scanner_deserialize(void *payload, const char *buffer, unsigned length) {
  (void)payload;
  (void)buffer;
  (void)length;
}

bool tree_sitter_withy_external_scanner_scan(void *payload, TSLexer *lexer, const bool *valid) {
  (void)payload;
  // While the parser recovers from an error everything is valid: then only line breaks help it.
  bool unit = (valid[UNIT_SLASH] || valid[UNIT_STAR]) && !valid[ERROR_RECOVERY];
  if (unit && (lexer->lookahead == '/' || is_star(lexer->lookahead))) return scan_unit_operator(lexer);
  return (valid[LINE_END] || valid[FENCE]) && scan_line_end(lexer, valid);
}
