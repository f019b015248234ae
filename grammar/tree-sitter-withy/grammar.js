/**
 * @file The tree-sitter grammar of Withy. It follows `grammar/withy.ebnf` rule by rule; words come from `words.json`,
 * which is written from the compiler's own tables (`tests/grammars`).
 */

/// <reference types="tree-sitter-cli/dsl" />
// @ts-check

const { declarations, reserved: reservedWords } = require("./words.json");

// After these an entry goes on in the next line; the compiler's lexer knows them as wanting more.
const JOINERS = ["because", "then", "with"];
// These begin another kind of entry or of expression.
const SPECIAL_HEADS = ["accept", "expect"];

const minus = choice("-", "−");
const star = choice("*", "×", "\u00b7", "\u0387", "\u22c5");

const separated = (rule) => seq(rule, repeat(seq(",", rule)), optional(","));

/**
 * The rules of expressions, twice: behind `expect` two words may be one figure (`bend lip.window.low`), elsewhere
 * they are two arguments. Both make the same nodes.
 */
function expressions(suffix, figures) {
  const name = (rule) => `_${rule}${suffix}`;
  const of = ($, rule) => $[name(rule)];
  const as = ($, rule, shown) => alias(of($, rule), $[shown]);
  return {
    [name("expression")]: ($) => prec.right(choice(as($, "comparison", "binary"), of($, "sum"))),
    [name("comparison")]: ($) =>
      prec.right(
        seq(
          field("left", of($, "sum")),
          field("operator", choice("==", "!=", "≠", "<", "<=", "≤", ">", ">=", "≥")),
          field("right", of($, "sum")),
        ),
      ),
    [name("sum")]: ($) => prec.right(choice(as($, "sum_of_two", "binary"), of($, "product"))),
    [name("sum_of_two")]: ($) =>
      prec.right(
        seq(field("left", of($, "sum")), field("operator", choice("+", minus)), field("right", of($, "product"))),
      ),
    [name("product")]: ($) => prec.right(choice(as($, "product_of_two", "binary"), of($, "signed"))),
    [name("product_of_two")]: ($) =>
      prec.right(
        seq(field("left", of($, "product")), field("operator", choice(star, "/")), field("right", of($, "signed"))),
      ),
    [name("signed")]: ($) => prec.right(choice(of($, "power"), as($, "negated", "negated"))),
    [name("negated")]: ($) => prec.right(seq(minus, of($, "signed"))),
    [name("power")]: ($) => prec.right(choice(of($, "known"), as($, "power_of_two", "binary"))),
    [name("power_of_two")]: ($) =>
      prec.right(seq(field("left", of($, "known")), field("operator", "^"), field("right", of($, "signed")))),
    [name("known")]: ($) => prec.right(choice(of($, "deviating"), as($, "tolerance", "tolerance"), as($, "range", "range"))),
    [name("tolerance")]: ($) =>
      prec.right(
        seq(of($, "deviating"), choice("±", "+/-", "+-"), choice(of($, "deviating"), as($, "negated", "negated"))),
      ),
    [name("range")]: ($) =>
      prec.right(seq(of($, "deviating"), "..", choice(of($, "deviating"), as($, "negated", "negated")))),
    [name("deviating")]: ($) => prec.right(choice(of($, "atom"), as($, "uneven", "tolerance"))),
    [name("uneven")]: ($) => prec.right(seq(of($, "atom"), $.deviations, optional($.unit))),
    [name("atom")]: ($) =>
      prec.right(
        choice(
          $.quantity,
          as($, "call", "call"),
          ...(figures ? [$.figure] : []),
          $.name,
          as($, "path", "path"),
          as($, "choice", "choice"),
          as($, "group", "group"),
          alias($.uneven_alone, $.tolerance),
        ),
      ),
    [name("choice")]: ($) =>
      prec.right(
        seq(
          "if",
          field("condition", of($, "expression")),
          "then",
          field("consequence", of($, "expression")),
          "else",
          field("alternative", of($, "expression")),
        ),
      ),
    [name("group")]: ($) => seq("(", of($, "expression"), ")"),
    [name("path")]: ($) =>
      prec.right(
        seq(
          $.name,
          choice(as($, "index", "index"), seq(optional(as($, "index", "index")), repeat1(of($, "step")))),
        ),
      ),
    [name("step")]: ($) => prec.right(seq(".", $.name, optional(as($, "index", "index")))),
    [name("index")]: ($) => seq(token.immediate("["), of($, "expression"), "]"),
    [name("call")]: ($) =>
      seq(
        field("function", $.name),
        token.immediate("("),
        optional(separated(choice(as($, "parameter", "parameter"), as($, "given", "given"), of($, "expression")))),
        ")",
      ),
    [name("parameter")]: ($) =>
      seq(
        field("name", $.name),
        ":",
        field("kind", alias($._word, $.kind)),
        optional(seq("=", field("default", of($, "expression")))),
      ),
    [name("given")]: ($) => seq(field("name", $.name), "=", field("value", of($, "expression"))),
    [name("list")]: ($) => seq("[", optional(separated(of($, "expression"))), "]"),
    [name("argument")]: ($) =>
      prec.right(
        choice(
          of($, "expression"),
          ...reservedWords.filter((word) => word !== "if" && !JOINERS.includes(word)),
          as($, "list", "list"),
          $.text,
          $.date,
        ),
      ),
  };
}

/** What an entry can be; in a block, a declaration's word is a head like others. */
const FORMS = ["entry", "expectation"];
const NODES = { declaration: "declaration", entry: "entry", expectation: "entry" };

const head = ($, rule) => field("head", alias(rule, $.head));

/**
 * The rules of one form of entry. It is open while its last word is one after which it goes on in the next line, else
 * closed: only a closed one ends with its line.
 */
function entry(form, suffix, closedHead, openHead) {
  const soFar = ($) => choice($[`_closed_${form}`], $[`_open_${form}`]);
  return {
    [`_closed_${form}`]: ($) => choice(closedHead($), seq(soFar($), $[`_argument${suffix}`])),
    [`_open_${form}`]: ($) => choice(...(openHead ? [openHead($)] : []), seq(soFar($), $._joiner)),
    [`_whole_${form}`]: ($) => seq(soFar($), $.block),
  };
}

/** Entries one after the other; a comma may stand for a line break, and the last one needs neither. */
function entries($, forms) {
  const shown = (state, form) => alias($[`_${state}_${form}`], $[NODES[form]]);
  const last = forms.flatMap((form) => [shown("closed", form), shown("open", form)]);
  const ended = forms.flatMap((form) => [
    seq(shown("closed", form), choice($._line_end, ",")),
    seq(shown("open", form), choice($._fence, ",")),
    shown("whole", form),
  ]);
  return seq(repeat(choice(",", ...ended)), optional(choice(...last)));
}

module.exports = grammar({
  name: "withy",

  word: ($) => $._word,

  // No reserved word is ever a name, whatever would fit.
  reserved: { global: (_) => reservedWords },

  extras: ($) => [/[ \t\r\n\u{feff}]/, $.comment, $.doc_comment],

  // Line breaks that end an entry, the line break before a declaration, and operators glued between two units: what
  // they are hangs on what follows them.
  externals: ($) => [$._line_end, $._fence, $._unit_slash, $._unit_star, $._error_recovery],

  rules: {
    file: ($) => entries($, ["declaration", ...FORMS]),
    block: ($) => seq("{", entries($, FORMS), "}"),

    ...entry("declaration", "", (_) => field("keyword", choice(...declarations))),
    ...entry(
      "entry",
      "",
      ($) =>
        choice(
          head($, $._word),
          ...reservedWords.filter((word) => !JOINERS.includes(word)).map((word) => head($, word)),
          seq(head($, "accept"), $.rule_name),
        ),
      ($) => choice(...JOINERS.map((word) => head($, word))),
    ),
    ...entry("expectation", "_of_figures", ($) => head($, "expect")),

    rule_name: ($) => prec.right(seq($._any_word, repeat(seq(minus, $._any_word)))),
    _any_word: ($) => choice($._word, ...reservedWords),
    _joiner: (_) => choice(...JOINERS, "="),

    ...expressions("", false),
    ...expressions("_of_figures", true),

    // `leg 2.tolerance`, `bend lip.window.low`
    figure: ($) =>
      prec.right(
        seq(
          field("of", $.name),
          choice(
            seq($.number, optional(seq(".", choice($.name, alias($._path_of_figures, $.path))))),
            choice($.name, alias($._path_of_figures, $.path)),
          ),
        ),
      ),

    uneven_alone: ($) => prec.right(seq($.deviations, optional($.unit))),

    // A minus before a number at the start of an operand belongs to the number.
    quantity: ($) => {
      const value = seq(choice(seq($.number, optional($.fraction)), $.fraction), optional($.unit));
      return choice(prec.right(value), prec.right(1, seq(minus, value)));
    },
    unit: ($) =>
      prec.right(
        seq(
          $.unit_name,
          repeat(seq(choice(alias($._unit_slash, "/"), alias($._unit_star, "*")), choice($.unit_group, $.unit_name))),
        ),
      ),
    unit_group: ($) => seq("(", $.unit_name, repeat(seq(optional(choice(star, alias($._unit_star, "*"))), $.unit_name)), ")"),
    unit_name: ($) => choice($._word, "%", $._degree_sign),

    name: ($) => $._word,
    text: ($) => seq('"', repeat(choice(token.immediate(prec(2, /[^"\\\n]+/)), $.escape)), token.immediate('"')),
    escape: (_) => token.immediate(/\\["\\]/),

    _word: (_) => new RustRegex("[\\p{XID_Start}_][\\p{XID_Continue}²³--\\u{b7}\\u{387}]*"),
    number: (_) => /[0-9][0-9_]*(\.[0-9][0-9_]*)?([eE][+-]?[0-9]+)?/,
    fraction: (_) => /[0-9]+\/[0-9]+/,
    deviations: (_) =>
      /\+([0-9][0-9_]*(\.[0-9][0-9_]*)?([eE][+-]?[0-9]+)?|[0-9]+\/[0-9]+)\/-([0-9][0-9_]*(\.[0-9][0-9_]*)?([eE][+-]?[0-9]+)?|[0-9]+\/[0-9]+)/,
    date: (_) => /[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]/,
    _degree_sign: (_) => /°[CFK]?|[℃℉]/,

    // A `\r` before the end of the line belongs to the line break.
    comment: (_) => token(/#([^\r\n]|\r+[^\r\n])*/),
    doc_comment: (_) => token(prec(1, /##([^\r\n]|\r+[^\r\n])*/)),
  },
});
