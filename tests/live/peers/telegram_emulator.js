// The independent emulator (npm telegram-test-api) with the least around it that a strict client
// needs: whole messages with times in seconds, a getUpdates that waits and confirms, the
// webhook's secret, photos. What people say goes in through the emulator's own client routes.
// usage: node telegram_emulator.js   (NODE_PATH names where the package is; prints its port)
const http = require('http');
const express = require('express');
const TelegramServer = require('telegram-test-api');

const BOT = { id: 666, is_bot: true, first_name: 'Stirbell', username: 'stir_bot' };

function parsed(value) {
  if (typeof value !== 'string') return value;
  try { return JSON.parse(value); } catch { return value; }
}

class Emulator extends TelegramServer {
  addBotMessage(raw, token) {
    const id = this.messageId;
    super.addBotMessage(raw, token);
    const chatId = Number(raw.chat_id);
    const chat = chatId < 0
      ? { id: chatId, type: 'supergroup', title: 'Group' }
      : { id: chatId, type: 'private', first_name: 'Grower' };
    const message = { message_id: id, from: BOT, chat, date: Math.floor(Date.now() / 1000) };
    if (raw.text !== undefined) message.text = raw.text;
    const markup = parsed(raw.reply_markup);
    if (markup && markup.inline_keyboard) message.reply_markup = markup;
    return message;
  }

  async addUserUpdate(update) {
    const hook = this.webhooks[update.botToken];
    if (!hook) {
      await super.addUserUpdate(update);
      this.emit('news');
      return;
    }
    const numbered = { ...update, updateId: this.updateId };
    this.updateId += 1;
    const headers = { 'Content-Type': 'application/json' };
    if (hook.secret_token) headers['X-Telegram-Bot-Api-Secret-Token'] = hook.secret_token;
    const body = JSON.stringify(TelegramServer.formatUpdate(numbered));
    await fetch(hook.url, { method: 'POST', headers, body });
  }

  async updates(token, offset, limit, timeoutS) {
    const end = Date.now() + 1000 * timeoutS;
    this.storage.userMessages = this.storage.userMessages
      .filter((update) => update.botToken !== token || update.updateId >= offset);
    for (;;) {
      const mine = this.storage.userMessages.filter((update) => update.botToken === token);
      if (mine.length || Date.now() >= end) {
        return mine.slice(0, limit).map(TelegramServer.formatUpdate);
      }
      await new Promise((wake) => {
        const timer = setTimeout(wake, Math.max(1, end - Date.now()));
        this.once('news', () => { clearTimeout(timer); wake(); });
      });
    }
  }
}

const plain = TelegramServer.formatUpdate;
TelegramServer.formatUpdate = (update) => {
  const formatted = plain(update);
  const query = formatted.callback_query;
  if (query) {
    query.chat_instance = '1';
    query.message = { message_id: 1, date: 1, ...query.message };
  } else {
    delete formatted.message.botToken;
  }
  return formatted;
};

const emulator = new Emulator({ port: 1, host: '127.0.0.1', storeTimeout: 3600 });
emulator.setMaxListeners(0);
const app = express();
// Before the body parsers: a photo comes as a form with a file, which the emulator does not know.
const whole = express.raw({ type: () => true, limit: '12mb' });
app.post('/bot:token/sendPhoto', whole, async (asked, answer) => {
  const headers = { 'Content-Type': asked.headers['content-type'] };
  const form = await new Response(asked.body, { headers }).formData();
  const raw = {};
  for (const [name, value] of form) if (typeof value === 'string') raw[name] = parsed(value);
  const named = typeof raw.photo === 'string' ? raw.photo.replace('attach://', '') : 'photo';
  const file = form.get(named);
  if (!file || typeof file === 'string') {
    answer.status(400).json({ ok: false, error_code: 400, description: 'Bad Request: no photo' });
    return;
  }
  raw.photo = Buffer.from(await file.arrayBuffer()).toString('base64');
  const message = emulator.addBotMessage(raw, asked.params.token);
  const photo = [{ file_id: 'p', file_unique_id: 'p', width: 1, height: 1, file_size: file.size }];
  answer.json({ ok: true, result: { ...message, photo, caption: raw.caption } });
});
app.use(express.json({ limit: '1mb' }), express.urlencoded({ extended: true, limit: '1mb' }));
const yes = (answer, result) => answer.json({ ok: true, result });

app.all('/bot:token/getMe', (_, answer) => yes(answer, BOT));
app.all('/bot:token/setWebhook', (asked, answer) => {
  emulator.setWebhook(asked.body, asked.params.token);
  yes(answer, true);
});
app.all('/bot:token/getWebhookInfo', (asked, answer) => {
  const hook = emulator.webhooks[asked.params.token] || {};
  yes(answer, { url: hook.url || '', has_custom_certificate: false, pending_update_count: 0 });
});
for (const method of ['answerCallbackQuery', 'setMyCommands']) {
  app.all(`/bot:token/${method}`, (_, answer) => yes(answer, true));
}
app.all('/bot:token/getUpdates', async (asked, answer) => {
  const { offset = 0, limit = 100, timeout = 0 } = asked.body;
  yes(answer, await emulator.updates(asked.params.token, Number(offset), Number(limit), Number(timeout)));
});
app.use(emulator.webServer);
const server = http.createServer(app).listen(0, '127.0.0.1', () => {
  process.stdout.write(`${server.address().port}\n`);
});
process.stdin.resume().on('end', () => process.exit(0)); // ends with the test that started it
