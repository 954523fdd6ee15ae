/** A day shift with one stroke of 1.7 m from a chainage on, begun at 07:00 UTC. */
export const oneStroke = (date: string, number: number, from: number, more: object = {}) => ({
  state: 'draft',
  strokes: [
    {
      number,
      borings: [
        {
          from: String(from),
          to: String(from + 1.7),
          startedAt: `${date}T07:00:00Z`,
          endedAt: `${date}T07:40:00Z`,
          ...more,
        },
      ],
    },
  ],
});
