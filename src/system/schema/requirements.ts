/**
 * `requirements:` of a case: what a specification asks, by its own identifiers. What a requirement is
 * about is a text: an answer tells whether it holds anything of that name.
 */
import type { Requirement } from '../case.ts';
import { plain, textRule } from './leaf.ts';
import { choiceRule } from './rules.ts';
import { mapped, object, optional, required, type Shape } from './shape.ts';

/** Most requirements in a case. */
export const REQUIREMENTS_MAX = 512;

const written: Shape<Omit<Requirement, 'place'>> = object<Omit<Requirement, 'place'>>({
  id: required(plain(textRule('an identifier')), 'Identifier in the specification.'),
  text: required(plain(textRule('what is required')), 'What is required.'),
  about: required(
    plain(textRule('what it is about')),
    'A stream, the id of a rule or finding, or one of fit, rate.',
  ),
  method: optional(
    plain(
      choiceRule(['analysis', 'inspection', 'test', 'demonstration'], 'a method of verification'),
    ),
    'How it is to be verified; analysis when absent.',
  ),
});

/** One requirement. */
export const requirement: Shape<Requirement> = mapped(written, (value, { place }) => ({
  ...value,
  place,
}));
