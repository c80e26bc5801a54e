// What practice keeps: the teacher's rules as the engine takes them, and the class list.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { schemeOf, withoutPerson, withPerson, withResult } from '../src/app/practice/class-list';

const piece = (person: string, points: number) => ({ person, problem: '7.1 stub', points, full: 100 });

test('rules that are not written are left to the engine, and what is no number is left out', () => {
  assert.deepEqual(schemeOf({}), {});
  assert.deepEqual(schemeOf({ full: '20', passes_at: ' ', 'length.within': '1/16', 'length.points': '2,5', 'angle.within_deg': 'two' }), {
    full: 20,
    length: { within: '1/16', points: 2.5 },
  });
  assert.deepEqual(schemeOf({ 'time.minutes': '15' }), { time: { minutes: 15 } });
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
