// Prisma's command line loads this package whatever the command, and uses it in "prisma dev" only.
module.exports = {};
