export const JSON_TYPE = 'application/json';
