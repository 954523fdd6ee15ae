import { BlockList } from 'node:net';
import type { LookupAddress } from 'node:dns';
import { isPublicAddress, isTarget, Targets } from '../../../src/common/net/targets.js';

// The address blocks are those of the IANA special-purpose registries (RFC 6890 and its updates), typed here and checked with Node's own BlockList:
// a second implementation beside the library that the service uses.

const SPECIAL: [address: string, of: string][] = [
  ['0.0.0.0', 'this network, RFC 791'],
  ['0.1.2.3', 'this network, RFC 791'],
  ['10.0.0.1', 'private, RFC 1918'],
  ['10.255.255.255', 'private, RFC 1918'],
  ['100.64.0.1', 'shared, RFC 6598'],
  ['100.127.255.255', 'shared, RFC 6598'],
  ['127.0.0.1', 'loopback, RFC 1122'],
  ['127.255.255.254', 'loopback, RFC 1122'],
  ['169.254.169.254', 'link-local, RFC 3927: metadata of clouds'],
  ['172.16.0.1', 'private, RFC 1918'],
  ['172.31.255.255', 'private, RFC 1918'],
  ['192.0.0.8', 'protocol assignments, RFC 6890'],
  ['192.0.2.1', 'documentation, RFC 5737'],
  ['192.88.99.1', '6to4 relays, RFC 7526'],
  ['192.168.1.1', 'private, RFC 1918'],
  ['198.18.0.1', 'benchmarking, RFC 2544'],
  ['198.19.255.255', 'benchmarking, RFC 2544'],
  ['198.51.100.7', 'documentation, RFC 5737'],
  ['203.0.113.7', 'documentation, RFC 5737'],
  ['224.0.0.1', 'multicast, RFC 5771'],
  ['239.255.255.255', 'multicast, RFC 5771'],
  ['240.0.0.1', 'reserved, RFC 1112'],
  ['255.255.255.255', 'broadcast, RFC 919'],
  ['::', 'unspecified, RFC 4291'],
  ['::1', 'loopback, RFC 4291'],
  ['0:0:0:0:0:0:0:1', 'loopback, RFC 4291'],
  ['::7f00:1', 'IPv4-compatible, RFC 4291'],
  ['::ffff:10.0.0.1', 'IPv4-mapped private'],
  ['::ffff:127.0.0.1', 'IPv4-mapped loopback'],
  ['::ffff:7f00:1', 'IPv4-mapped loopback'],
  ['0:0:0:0:0:ffff:a9fe:a9fe', 'IPv4-mapped link-local'],
  ['64:ff9b::7f00:1', 'NAT64, RFC 6052'],
  ['64:ff9b:1::1', 'local NAT64, RFC 8215'],
  ['100::1', 'discard, RFC 6666'],
  ['2001::1', 'Teredo, RFC 4380'],
  ['2001:2::1', 'benchmarking, RFC 5180'],
  ['2001:db8::1', 'documentation, RFC 3849'],
  ['2002:7f00:1::', '6to4 of loopback, RFC 3056'],
  ['2002:a00:1::', '6to4 of private, RFC 3056'],
  ['fc00::1', 'unique local, RFC 4193'],
  ['fd12:3456::1', 'unique local, RFC 4193'],
  ['fe80::1', 'link-local, RFC 4291'],
  ['fe80::1%eth0', 'link-local, RFC 4291'],
  ['fec0::1', 'site-local, RFC 3879'],
  ['ff02::1', 'multicast, RFC 4291'],
  ['not an address', 'none'],
  ['', 'none'],
];

const PUBLIC = [
  '1.1.1.1',
  '8.8.8.8',
  '100.63.255.255',
  '100.128.0.1',
  '172.32.0.1',
  '223.255.255.255',
  '::ffff:8.8.8.8',
  '2606:4700::1111',
  '2a00:1450::1',
];

describe('an address', () => {
  it.each(SPECIAL)('%s is not on the public internet: %s', (address) => {
    expect(isPublicAddress(address)).toBe(false);
  });

  it.each(PUBLIC)('%s is on the public internet', (address) => {
    expect(isPublicAddress(address)).toBe(true);
  });

  it('of IPv4 is classed as by Node’s BlockList, at every border of the registry', () => {
    const blocks =
      '0.0.0.0/8 10.0.0.0/8 100.64.0.0/10 127.0.0.0/8 169.254.0.0/16 172.16.0.0/12 192.0.0.0/24 192.0.2.0/24 192.88.99.0/24 192.168.0.0/16 198.18.0.0/15 198.51.100.0/24 203.0.113.0/24 224.0.0.0/4 240.0.0.0/4';
    const list = new BlockList();
    const borders: number[] = [];
    for (const block of blocks.split(' ')) {
      const [base = '', bits = ''] = block.split('/');
      list.addSubnet(base, Number(bits));
      const first = base.split('.').reduce((sum, part) => sum * 256 + Number(part), 0);
      const last = first + 2 ** (32 - Number(bits)) - 1;
      borders.push(first - 1, first, first + 1, last - 1, last, last + 1);
    }
    const textOf = (n: number): string =>
      [24, 16, 8, 0].map((shift) => Math.floor(n / 2 ** shift) % 256).join('.');
    const texts = borders.filter((n) => n >= 0 && n < 2 ** 32).map(textOf);
    expect(texts.length).toBeGreaterThan(80);
    const differing = texts.filter((text) => isPublicAddress(text) === list.check(text));
    expect(differing).toEqual([]);
    expect(texts.filter((text) => isPublicAddress(`::ffff:${text}`) === list.check(text))).toEqual([]);
  });
});

const strict = new Targets([]);
const site = new Targets(['board.site.example', '10.1.0.0/16', '127.0.0.1', 'fd00::/8', 'localhost']);

describe('a URL', () => {
  it.each([
    'https://board.example/hook',
    'https://board.example',
    'https://board.example:8443/a?b=c',
    'https://8.8.8.8/x',
    'https://[2606:4700::1111]/x',
  ])('%s is accepted', (url) => {
    expect(strict.faultOf(url)).toBeUndefined();
  });

  it.each([
    'board.example',
    '//board.example/',
    'ftp://board.example/',
    'file:///etc/passwd',
    'javascript:alert(1)',
    'https://',
    'https:///x',
    'https://me@board.example/',
    'https://me:pw@board.example/',
    'https://good.example\\@10.0.0.1/',
    'https://board.example/#part',
    'https://board.example/a b',
    'https://board.example:99999/',
    'https://board.example:0/',
    'http://board.example/',
    'https://localhost/',
    'https://LOCALHOST./',
    'https://a.localhost/',
    'https://127.0.0.1/',
    'https://127.1/',
    'https://2130706433/',
    'https://0x7f000001/',
    'https://0177.0.0.1/',
    'https://[::1]/',
    'https://[::ffff:127.0.0.1]/',
    'https://[fe80::1]/',
    'https://169.254.169.254/latest/meta-data/',
    'https://10.1.2.3/',
    'https://100.64.0.1/',
    'https://0/',
  ])('%s is refused', (url) => {
    expect(strict.faultOf(url)).toMatch(/^must /);
  });

  it.each([
    'http://board.site.example/hook',
    'https://board.site.example/hook',
    'http://Board.Site.Example./hook',
    'http://10.1.2.3:8080/',
    'http://127.0.0.1:9000/',
    'https://[fd00::7]/',
    'http://localhost:9000/',
  ])('%s is accepted where the operator has allowed it', (url) => {
    expect(site.faultOf(url)).toBeUndefined();
    expect(strict.faultOf(url) === undefined).toBe(url === 'https://board.site.example/hook'); // its addresses are looked up later
  });

  it.each([
    'http://10.2.0.1/',
    'https://127.0.0.2/',
    'https://[fe80::7]/',
    'http://other.site.example/',
    'https://board.site.example.evil.example@x/',
  ])('%s is refused there too', (url) => expect(site.faultOf(url)).toBeDefined());
});

const looked = (targets: Targets, host: string, all = true): Promise<unknown> =>
  new Promise((resolve) => {
    targets.lookup(host, { all }, (error, address, family) =>
      resolve(error ? (error as NodeJS.ErrnoException).code : all ? address : [address, family]),
    );
  });

const answering =
  (...answers: string[]) =>
  (_host: string, _options: object, callback: (error: null, addresses: LookupAddress[]) => void): void =>
    callback(
      null,
      answers.map((address) => ({ address, family: address.includes(':') ? 6 : 4 })),
    );

describe('the DNS lookup of a connection', () => {
  it.each(SPECIAL.filter(([address]) => /[.:]/.test(address)).map(([address]) => address))(
    'refuses a name that resolves to %s',
    async (address) => {
      expect(await looked(new Targets([], answering(address)), 'hook.example')).toBe('REFUSED_TARGET');
    },
  );

  it('refuses a name with one such address among others, in either order', async () => {
    for (const answers of [
      ['8.8.8.8', '10.0.0.1'],
      ['10.0.0.1', '8.8.8.8'],
      ['2606:4700::1111', '::ffff:127.0.0.1'],
    ])
      expect(await looked(new Targets([], answering(...answers)), 'hook.example')).toBe('REFUSED_TARGET');
  });

  it('answers public addresses, all or the first, and a name without one by ENOTFOUND', async () => {
    const targets = new Targets([], answering('8.8.8.8', '2606:4700::1111'));
    expect(await looked(targets, 'hook.example')).toEqual([
      { address: '8.8.8.8', family: 4 },
      { address: '2606:4700::1111', family: 6 },
    ]);
    expect(await looked(targets, 'hook.example', false)).toEqual(['8.8.8.8', 4]);
    expect(await looked(new Targets([], answering()), 'hook.example')).toBe('ENOTFOUND');
  });

  it('allows a named host to resolve anywhere, and any host into an allowed network', async () => {
    const inside = new Targets(['board.site.example', '10.1.0.0/16'], answering('10.9.0.1'));
    expect(await looked(inside, 'board.site.example')).toEqual([{ address: '10.9.0.1', family: 4 }]);
    expect(await looked(inside, 'other.example')).toBe('REFUSED_TARGET');
    const near = new Targets(['10.1.0.0/16'], answering('10.1.0.9', '::ffff:10.1.0.9'));
    expect(await looked(near, 'other.example')).toHaveLength(2);
  });

  it('resolves two names at a time, so that threads remain for files', async () => {
    let under = 0;
    let most = 0;
    const targets = new Targets([], (_host, _options, callback) => {
      under += 1;
      most = Math.max(most, under);
      setImmediate(() => {
        under -= 1;
        callback(null, [{ address: '8.8.8.8', family: 4 }]);
      });
    });
    await Promise.all(Array.from({ length: 9 }, () => looked(targets, 'hook.example')));
    expect([most, under]).toEqual([2, 0]);
  });
});

describe('the setting of allowed targets', () => {
  it.each(['board.example', 'localhost', 'a_b.internal', '10.0.0.0/8', '10.1.2.3', '::1', 'fd00::/8'])(
    'accepts %s',
    (entry) => {
      expect(isTarget(entry)).toBe(true);
    },
  );

  it.each([
    '',
    ' ',
    'https://board.example',
    'board.example/x',
    '10.0.0.0/33',
    '10.0.0',
    '1.2.3.4.5',
    'fd00::/129',
    '*.example',
    'a..b',
  ])('refuses %p', (entry) => expect(isTarget(entry)).toBe(false));
});
