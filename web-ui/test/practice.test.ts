// What practice keeps: the teacher's rules as the engine takes them, and the class list.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { problemName, readBeforeLeans, ruleUnit, schemeOf, withLength, withoutPerson, withPerson, withResult } from '../src/app/practice/class-list';

const piece = (person: string, points: number) => ({ person, problem: '7.1 stub', points, full: 100 });

test('rules that are not written are left to the engine, and what is no number is left out', () => {
  assert.deepEqual(schemeOf({}), {});
  assert.deepEqual(schemeOf({ full: '20', passes_at: ' ', 'length.within': '1/16', 'length.points': '2,5', 'angle.within_deg': 'two' }), {
    full: 20,
    length: { within: '1/16 in', points: 2.5 },
  });
  assert.deepEqual(schemeOf({ 'time.minutes': '15', 'lean.within_deg': '2', gross_times: '4' }), { gross_times: 4, lean: { within_deg: 2 }, time: { minutes: 15 } });
});

test('a name stands once, and goes with all that it has', () => {
  const two = withPerson(withPerson({ people: [], results: [] }, ' Learner A '), 'Learner B');
  assert.deepEqual(withPerson(two, 'Learner A'), two);
  assert.deepEqual(withPerson(two, '  '), two);
  const graded = withResult(withResult(two, piece('Learner A', 50)), piece('Learner C', 80));
  assert.deepEqual(graded.people, ['Learner A', 'Learner B', 'Learner C']);
  const less = withoutPerson(graded, 'Learner A');
  assert.deepEqual([less.people, less.results.map((one) => one.person)], [['Learner B', 'Learner C'], ['Learner C']]);
});

test('a rule keeps the unit of the sheet that it was typed on, whatever sheet is graded', () => {
  const typed = withLength(withLength({}, 'rise.within', '3', 'mm'), 'rise.step', '1/8 in', 'mm');
  assert.deepEqual(schemeOf(typed), { rise: { within: '3 mm', step: '1/8 in' } });
  // the same field, on an inch sheet: it still stands in mm, until it is emptied
  assert.equal(ruleUnit(typed, 'rise.within', 'in'), 'mm');
  const more = withLength(typed, 'rise.within', '35', 'in');
  assert.deepEqual(schemeOf(more)['rise'], { within: '35 mm', step: '1/8 in' });
  const anew = withLength(withLength(more, 'rise.within', '', 'in'), 'rise.within', '1/4', 'in');
  assert.deepEqual(schemeOf(anew)['rise'], { within: '1/4 in', step: '1/8 in' });
});

test('a sheet from before leans were asked for: what was read on it, without a lean', () => {
  assert.deepEqual(readBeforeLeans({ 1: { 'length 1': '14', 'dog-leg': '0' }, 2: {}, 3: { 'length 1': ' ' }, 4: { 'angle 2': '90', 'lean 2': '0' } }), ['1']);
});

test('problems of other raceways or units are others, though seed and number are alike', () => {
  const names = (['EMT 1/2', 'EMT 3/4'] as const).flatMap((raceway) => (['in', 'mm'] as const).map((unit) => problemName(7, { number: 1, kind: 'stub' }, raceway, unit)));
  assert.equal(names[0], '7.1 stub, EMT 1/2, in');
  assert.equal(new Set(names).size, 4);
});
