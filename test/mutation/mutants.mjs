import { readFileSync } from 'node:fs';
import ts from 'typescript';

const K = ts.SyntaxKind;

/** Replacements of operators. */
const OPERATORS = {
  [K.PlusToken]: ['-'],
  [K.MinusToken]: ['+'],
  [K.AsteriskToken]: ['/'],
  [K.SlashToken]: ['*'],
  [K.PercentToken]: ['*'],
  [K.AsteriskAsteriskToken]: ['*'],
  [K.LessThanToken]: ['<=', '>='],
  [K.LessThanEqualsToken]: ['<', '>'],
  [K.GreaterThanToken]: ['>=', '<='],
  [K.GreaterThanEqualsToken]: ['>', '<'],
  [K.EqualsEqualsEqualsToken]: ['!=='],
  [K.ExclamationEqualsEqualsToken]: ['==='],
  [K.AmpersandAmpersandToken]: ['||'],
  [K.BarBarToken]: ['&&'],
  [K.QuestionQuestionToken]: ['&&'],
  [K.PlusEqualsToken]: ['-='],
  [K.MinusEqualsToken]: ['+='],
};

/** Replacements of functions and methods. */
const CALLS = {
  min: 'max',
  max: 'min',
  floor: 'ceil',
  ceil: 'floor',
  round: 'floor',
  sin: 'cos',
  cos: 'sin',
  some: 'every',
  every: 'some',
};

const number = (text) => {
  const value = Number(text.replaceAll('_', ''));
  return Number.isInteger(value) ? String(value + 1) : String(value * 1.1);
};

/** All mutants of a file: { file, start, end, text, line, column, was }. */
export const mutantsOf = (file) => {
  const text = readFileSync(file, 'utf8');
  const source = ts.createSourceFile(file, text, ts.ScriptTarget.ES2022, true);
  const found = [];
  const add = (node, replacement) => {
    const [start, end] = [node.getStart(source), node.getEnd()];
    const { line, character } = source.getLineAndCharacterOfPosition(start);
    found.push({
      file,
      start,
      end,
      text: replacement,
      was: text.slice(start, end),
      line: line + 1,
      column: character + 1,
    });
  };
  const visit = (node) => {
    if (ts.isTypeNode(node) || ts.isInterfaceDeclaration(node) || ts.isTypeAliasDeclaration(node)) return;
    if (ts.isBinaryExpression(node))
      for (const other of OPERATORS[node.operatorToken.kind] ?? []) add(node.operatorToken, other);
    if (ts.isNumericLiteral(node)) add(node, number(node.text));
    if (
      ts.isPrefixUnaryExpression(node) &&
      [K.MinusToken, K.ExclamationToken].includes(node.operator) &&
      !ts.isNumericLiteral(node.operand)
    )
      add(node, `(${node.operand.getText(source)})`);
    if (ts.isConditionalExpression(node) || ts.isIfStatement(node)) {
      const condition = ts.isIfStatement(node) ? node.expression : node.condition;
      for (const value of ['true', 'false']) add(condition, value);
    }
    if (ts.isCallExpression(node) && ts.isPropertyAccessExpression(node.expression)) {
      const { name } = node.expression;
      if (Object.hasOwn(CALLS, name.text)) add(name, CALLS[name.text]);
    }
    ts.forEachChild(node, visit);
  };
  visit(source);
  return found;
};
