// Look again for an answer that is still being worked out.
setTimeout(() => location.reload(), 2000);
