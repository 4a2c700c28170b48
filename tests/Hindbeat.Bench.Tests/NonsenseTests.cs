using System.Net;
using System.Text;
using Hindbeat.Studies;

namespace Hindbeat.Bench.Tests;

/// <summary>Sent by the page itself, but nonsense: refused in one line, nothing kept, no memory filled.</summary>
[Collection(OneBrowser.Name)]
public class NonsenseTests(BenchInABrowser bench)
{
    [Theory]
    [InlineData("delay?rate=48000", "", HttpStatusCode.UnprocessableEntity)]
    [InlineData("delay?rate=1", "abcd", HttpStatusCode.UnprocessableEntity)]
    [InlineData("delay?rate=48000", "\u0000\u0000\u00c0\u007f", HttpStatusCode.UnprocessableEntity)] // A NaN, little-endian.
    [InlineData("WHOLE/take?rate=48000&over=click", "abcd", HttpStatusCode.UnprocessableEntity)]
    [InlineData("WHOLE/take?rate=48000&over=../../etc", "abcd", HttpStatusCode.UnprocessableEntity)]
    [InlineData("WHOLE/take?rate=48000&over=click&rounds=1e9", "abcd", HttpStatusCode.UnprocessableEntity)]
    [InlineData("..%2f..%2fetc/take?rate=48000&over=click", "abcd", HttpStatusCode.NotFound)]
    [InlineData("WHOLE/notes?over=click", "[[0, 42]]", HttpStatusCode.UnprocessableEntity)]
    [InlineData("WHOLE/notes?over=click", "[[0, 42, 1000]]", HttpStatusCode.UnprocessableEntity)]
    [InlineData("WHOLE/notes?over=click", "[[1e300, 42, 100]]", HttpStatusCode.UnprocessableEntity)]
    [InlineData("WHOLE/notes?over=click", "[null]", HttpStatusCode.UnprocessableEntity)]
    [InlineData("WHOLE/notes?over=click", "{", HttpStatusCode.BadRequest)]
    [InlineData("WHOLE/notes?over=click&delay=1e9", "[]", HttpStatusCode.UnprocessableEntity)]
    [InlineData("kit-delay?rate=48000&told=1:38,2:900&delay=9&within=1", "abcd", HttpStatusCode.UnprocessableEntity)]
    [InlineData("kit-delay?rate=48000&told=1:38&delay=x", "abcd", HttpStatusCode.UnprocessableEntity)]
    [InlineData("kit-delay?rate=48000&told=", "abcd", HttpStatusCode.UnprocessableEntity)]
    public async Task A_take_of_nonsense_is_refused_in_one_line_and_leaves_nothing(string path, string body, HttpStatusCode expected)
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        client.DefaultRequestHeaders.Add("RequestVerificationToken", await client.GetStringAsync("add/token"));
        using var content = new ByteArrayContent(Encoding.Latin1.GetBytes(body));
        content.Headers.ContentType = new("application/json");
        using HttpResponseMessage answer = await client.PostAsync($"practice/{path.Replace("WHOLE", bench.Whole.Id, StringComparison.Ordinal)}", content);
        Assert.Equal(expected, answer.StatusCode);
        Assert.DoesNotContain('\n', await answer.Content.ReadAsStringAsync());
        string takes = Path.Combine(bench.Folder, "takes");
        Assert.True(!Directory.Exists(takes) || Directory.GetFiles(takes).Length == 0 || new TakeShelf(bench.Library).Of(bench.Whole.Id).Count == 0);
        Assert.Empty(bench.Problems);
    }

    [Theory]
    [InlineData("sound/WHOLE/spectrum?from=0&to=1e9&columns=10")]
    [InlineData("sound/WHOLE/spectrum?from=0&to=1&columns=100000")]
    [InlineData("sound/WHOLE/spectrum?from=NaN&to=1&columns=10")]
    [InlineData("sound/WHOLE/original?from=900&to=901")]
    [InlineData("practice/WHOLE/sound?over=click&rounds=1000000")]
    [InlineData("practice/WHOLE/sound?over=7")]
    [InlineData("practice/WHOLE/sound?over=click&share=1e-9")]
    [InlineData("practice/clicks?rate=1")]
    public async Task What_would_take_all_memory_or_is_no_number_is_refused(string path)
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        Assert.Equal(HttpStatusCode.BadRequest, (await client.GetAsync(path.Replace("WHOLE", bench.Whole.Id, StringComparison.Ordinal))).StatusCode);
    }
}
