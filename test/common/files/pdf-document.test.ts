import { Paper } from '../../../src/common/files/paper.js';

const PAGES = 20;

/** Twenty pages, each with its own words. */
const pages = async (): Promise<Buffer> => {
  const paper = new Paper({ title: 'Words', subject: 'Fonts', madeAt: new Date('2024-01-01T00:00:00Z') });
  for (let page = 0; page < PAGES; page += 1) {
    paper.addPage();
    paper.write(`Bolt ${page}, grout ${page * page}`, 40, 40);
    paper.write(`Rib ${page}`, 40, 60, { font: 'bold' });
  }
  return paper.finished();
};

it('gives the same bytes whether fonts are read from files or from the cache', async () => {
  const first = await pages();
  expect((await pages()).equals(first)).toBe(true);
  expect(first.toString('latin1').match(/\/Type \/Page\n/g)).toHaveLength(PAGES);
  // The two fonts in use, each embedded once; the oblique one is not.
  expect(first.toString('latin1').match(/\/FontFile2/g)).toHaveLength(2);
});
