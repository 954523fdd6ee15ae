import { readdirSync } from 'node:fs';
import os from 'node:os';
import { rasterise } from '../../../src/common/charts/raster.js';

const drawn = async (text: string, look = ''): Promise<string> => {
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="200" height="40"><text x="5" y="30" font-size="20" font-family="DejaVu Sans"${look} fill="#222222">${text}</text></svg>`;
  return Buffer.from(await rasterise({ svg, scale: 2 })).toString('base64');
};

// Text without glyphs would give the same picture as no text, or as another text of equal length.
it('draws Cyrillic, Han, kana and Hangul letters, alone and beside Latin ones', async () => {
  const texts = [
    '',
    'план',
    'пуск',
    '隧道',
    '掘進',
    'トンネル',
    'ボーリン',
    '터널',
    '굴착',
    'P1 計画',
    'P1 実績',
  ];
  const pictures = await Promise.all(texts.map((text) => drawn(text)));
  expect(new Set(pictures).size).toBe(texts.length);
});

it('draws East Asian letters as heavy as those beside them', async () => {
  expect(await drawn('隧道', ' font-weight="bold"')).not.toBe(await drawn('隧道'));
});

it('leaves no font file behind', async () => {
  await drawn('隧道');
  expect(readdirSync(os.tmpdir()).filter((name) => name.startsWith('drivebook-fonts-'))).toEqual([]);
});
