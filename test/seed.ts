/**
 * One seed for all property tests, so that a run says the same twice; LANEWRIGHT_SEED asks for
 * another, and a failure prints the one it had.
 */
import fc from 'fast-check';

const asked = process.env.LANEWRIGHT_SEED;
fc.configureGlobal({ seed: asked === undefined ? 20_261_125 : Number(asked) });
