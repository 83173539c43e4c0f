#include "child.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <stdexcept>

namespace shankwright::test {
namespace {

/// Reads up to the next newline out of `file`, keeping what follows it in `pending`.
std::string read_line(int file, std::string& pending, int timeout_ms, const std::string& who) {
  for (;;) {
    const std::size_t end = pending.find('\n');
    if (end != std::string::npos) {
      std::string out = pending.substr(0, end);
      pending.erase(0, end + 1);
      return out;
    }
    pollfd wait{file, POLLIN, 0};
    if (poll(&wait, 1, timeout_ms) <= 0) throw std::runtime_error(who + " says nothing");
    char buffer[4096];
    const ssize_t got = ::read(file, buffer, sizeof buffer);
    if (got <= 0) throw std::runtime_error(who + " ended");
    pending.append(buffer, static_cast<std::size_t>(got));
  }
}

std::vector<std::string> python(const std::string& script, std::vector<std::string> arguments) {
  arguments.insert(arguments.begin(),
                   {"/usr/bin/python3", SOURCE_DIR "/tests/drivers/" + script, "--end-with-stdin"});
  return arguments;
}

std::vector<std::string> with_target(int port, std::vector<std::string> arguments) {
  arguments.insert(arguments.begin(), {"--target", "127.0.0.1:" + std::to_string(port)});
  return arguments;
}

}  // namespace

Child::Child(const std::vector<std::string>& command) {
  int out[2], in[2];
  if (pipe2(out, O_CLOEXEC) != 0 || pipe2(in, O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  std::vector<char*> arguments;
  for (const std::string& one : command) arguments.push_back(const_cast<char*>(one.c_str()));
  arguments.push_back(nullptr);
  const pid_t parent = getpid();
  process_ = fork();
  if (process_ < 0) throw std::runtime_error("no process");
  if (process_ == 0) {
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    if (getppid() != parent) _exit(1);
    dup2(out[1], STDOUT_FILENO);
    dup2(in[0], STDIN_FILENO);
    execvp(arguments[0], arguments.data());
    _exit(127);
  }
  ::close(out[1]);
  ::close(in[0]);
  output_ = out[0];
  input_ = in[1];
}

Child::~Child() {
  kill(process_, SIGKILL);
  waitpid(process_, nullptr, 0);
  ::close(output_);
  ::close(input_);
}

std::string Child::line(int timeout_ms) {
  return read_line(output_, pending_, timeout_ms, "the child");
}

ControlLine::ControlLine(int port) {
  socket_ = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in to{};
  to.sin_family = AF_INET;
  to.sin_port = htons(static_cast<std::uint16_t>(port));
  to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  if (connect(socket_, reinterpret_cast<const sockaddr*>(&to), sizeof to) != 0)
    throw std::runtime_error("no control line");
}
ControlLine::~ControlLine() {
  ::close(socket_);
}

nlohmann::json ControlLine::ask(const nlohmann::json& request) {
  const std::string text = request.dump() + "\n";
  if (::send(socket_, text.data(), text.size(), MSG_NOSIGNAL) != static_cast<ssize_t>(text.size()))
    throw std::runtime_error("the control line is gone");
  const nlohmann::json reply = nlohmann::json::parse(read_line(socket_, pending_, 10000, "the control line"));
  if (!reply.value("ok", false)) throw std::runtime_error("control: " + reply.dump());
  return reply;
}

PressNode::PressNode(const std::vector<std::string>& more_arguments)
    : child_(python("pymodbus_node.py", more_arguments)) {
  const auto ready = nlohmann::json::parse(child_.line());
  port_ = ready.at("port");
  control_ = std::make_unique<ControlLine>(ready.at("control_port").get<int>());
}

FaultProxy::FaultProxy(int target_port, const std::vector<std::string>& more_arguments)
    : child_(python("fault_proxy.py", with_target(target_port, more_arguments))) {
  const auto ready = nlohmann::json::parse(child_.line());
  port_ = ready.at("port");
  control_ = std::make_unique<ControlLine>(ready.at("control_port").get<int>());
}

}  // namespace shankwright::test
