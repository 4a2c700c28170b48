using System.Net;
using System.Net.Sockets;
using System.Net.WebSockets;
using System.Text;
using Hindbeat.Units;

namespace Hindbeat.Bench.Tests;

/// <summary>What other pages, other machines and odd addresses get: nothing.</summary>
[Collection(OneBrowser.Name)]
public class AttackTests(BenchInABrowser bench)
{
    [Theory]
    [InlineData("evil.example")]
    [InlineData("evil.example:80")]
    [InlineData("127.0.0.1.evil.example")]
    [InlineData("")]
    public async Task A_foreign_or_empty_host_is_refused(string host) =>
        Assert.Equal(HttpStatusCode.BadRequest, await Status($"GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"));

    [Theory]
    [InlineData("/", "http://evil.example")]
    [InlineData("/", "null")]
    [InlineData("/_blazor/negotiate?negotiateVersion=1", "http://evil.example")]
    [InlineData("/_blazor/negotiate?negotiateVersion=1", "http://127.0.0.1:1")]
    public async Task A_request_from_another_origin_is_refused(string path, string origin)
    {
        string method = path == "/" ? "GET" : "POST";
        Assert.Equal(HttpStatusCode.Forbidden, await Status(
            $"{method} {path} HTTP/1.1\r\nHost: {bench.Address.Authority}\r\nOrigin: {origin}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"));
    }

    [Fact]
    public async Task The_page_itself_may_negotiate() =>
        Assert.Equal(HttpStatusCode.OK, await Status(
            $"POST /_blazor/negotiate?negotiateVersion=1 HTTP/1.1\r\nHost: {bench.Address.Authority}\r\nOrigin: http://{bench.Address.Authority}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"));

    [Fact]
    public async Task A_web_socket_opens_for_the_page_itself_and_for_no_other_origin()
    {
        var address = new Uri($"ws://{bench.Address.Authority}/_blazor");
        using (var own = new ClientWebSocket())
        {
            own.Options.SetRequestHeader("Origin", $"http://{bench.Address.Authority}");
            await own.ConnectAsync(address, CancellationToken.None);
            Assert.Equal(WebSocketState.Open, own.State);
        }

        using var foreign = new ClientWebSocket();
        foreign.Options.SetRequestHeader("Origin", "http://evil.example");
        foreign.Options.CollectHttpResponseDetails = true;
        await Assert.ThrowsAsync<WebSocketException>(() => foreign.ConnectAsync(address, CancellationToken.None));
        Assert.Equal(HttpStatusCode.Forbidden, foreign.HttpStatusCode);
    }

    [Theory]
    [InlineData("/study/no-such-study")]
    [InlineData("/study/..%2f..%2f..%2fetc%2fpasswd")]
    [InlineData("/study/%2e%2e%2f%2e%2e%2fetc%2fpasswd")]
    [InlineData("/study/..%5c..%5cwindows%5cwin.ini")]
    [InlineData("/study/C:%5CWindows")]
    [InlineData("/study/a%00b")]
    [InlineData("/study/%27%20OR%201=1--")]
    [InlineData("/sound/no-such-study/original")]
    [InlineData("/sound/no-such-study/rebuild/as-played")]
    [InlineData("/sound/..%2f..%2fetc%2fpasswd/original")]
    [InlineData("/sound/../../etc/passwd")]
    [InlineData("/fonts/..%2f..%2fHindbeat.Bench.dll")]
    [InlineData("/no/such/page")]
    public async Task Unknown_and_path_like_ids_are_not_found(string path)
    {
        HttpStatusCode status = await Status($"GET {path} HTTP/1.1\r\nHost: {bench.Address.Authority}\r\nConnection: close\r\n\r\n");
        Assert.Contains(status, new[] { HttpStatusCode.NotFound, HttpStatusCode.BadRequest });
    }

    [Fact]
    public async Task An_unknown_rebuild_and_the_sound_of_a_lost_file_are_not_found()
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        Assert.Equal(HttpStatusCode.NotFound, (await client.GetAsync($"sound/{bench.Whole.Id}/rebuild/louder")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await client.GetAsync($"sound/{bench.Gone.Id}/original")).StatusCode);
    }

    [Fact]
    public async Task Only_the_loopback_address_listens()
    {
        Assert.Equal("127.0.0.1", bench.Address.Host);
        IPAddress[] others = [.. (await Dns.GetHostAddressesAsync(Dns.GetHostName())).Where(address => address.AddressFamily == AddressFamily.InterNetwork && !IPAddress.IsLoopback(address))];
        foreach (IPAddress other in others)
        {
            using var client = new TcpClient();
            await Assert.ThrowsAnyAsync<SocketException>(() => client.ConnectAsync(other, bench.Address.Port));
        }
    }

    [Fact]
    public async Task No_setting_from_outside_opens_it_to_the_network()
    {
        const string Urls = "ASPNETCORE_URLS";
        string? before = Environment.GetEnvironmentVariable(Urls);
        try
        {
            Environment.SetEnvironmentVariable(Urls, "http://0.0.0.0:0");
            await using BenchServer server = await BenchServer.StartAsync(new BenchSettings { LibraryFolder = bench.Folder });
            Assert.Equal("127.0.0.1", server.Address.Host);
            Assert.NotEqual(0, server.Address.Port);
        }
        finally
        {
            Environment.SetEnvironmentVariable(Urls, before);
        }
    }

    [Fact]
    public async Task A_port_that_is_taken_is_said_in_one_line()
    {
        InputException reason = await Assert.ThrowsAsync<InputException>(
            () => BenchServer.StartAsync(new BenchSettings { LibraryFolder = bench.Folder, Port = bench.Address.Port }));
        Assert.Contains($"{bench.Address.Port}", reason.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', reason.Message);
    }

    [Fact]
    public async Task Answers_forbid_everything_from_elsewhere()
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        using HttpResponseMessage answer = await client.GetAsync("");
        string policy = string.Join(';', answer.Headers.GetValues("Content-Security-Policy"));
        Assert.Contains("default-src 'none'", policy, StringComparison.Ordinal);
        Assert.DoesNotContain("unsafe", policy, StringComparison.Ordinal);
        Assert.Equal("nosniff", string.Join(';', answer.Headers.GetValues("X-Content-Type-Options")));
        Assert.False(answer.Headers.Contains("Access-Control-Allow-Origin"));
    }

    /// <summary>Raw, because an HTTP client would tidy the odd parts away.</summary>
    private async Task<HttpStatusCode> Status(string request)
    {
        using var client = new TcpClient();
        await client.ConnectAsync(IPAddress.Loopback, bench.Address.Port);
        await using NetworkStream stream = client.GetStream();
        await stream.WriteAsync(Encoding.ASCII.GetBytes(request));
        using var reader = new StreamReader(stream, Encoding.ASCII);
        string line = await reader.ReadLineAsync() ?? "";
        return (HttpStatusCode)int.Parse(line.Split(' ')[1], System.Globalization.CultureInfo.InvariantCulture);
    }
}
