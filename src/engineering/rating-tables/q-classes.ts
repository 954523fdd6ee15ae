import { classFrom, type RatingTable } from './tables.js';

export const Q_CLASSES: RatingTable = {
  id: 'classes',
  title: 'Classes by Q',
  rule: 'The lower bound is in the class, the upper in the next one: the originals are silent. What lies beyond 0.001 to 1000, the working range, counts to the last class of that end.',
  source:
    'NGI handbook, as transcribed in open sources; which bound is in the class is a rule of this project',
  mark: 'transcribed',
  rows: [
    classFrom('exceptionally poor', 0, '0.001 to 0.01; handbook class G'),
    classFrom('extremely poor', 0.01, '0.01 to 0.1; F'),
    classFrom('very poor', 0.1, '0.1 to 1; E'),
    classFrom('poor', 1, '1 to 4; D'),
    classFrom('fair', 4, '4 to 10; C'),
    classFrom('good', 10, '10 to 40; B'),
    classFrom('very good', 40, '40 to 100; A'),
    classFrom('extremely good', 100, '100 to 400; A'),
    classFrom('exceptionally good', 400, '400 to 1000; A'),
  ],
};
